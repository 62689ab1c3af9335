/**
 * Standard deviation of a sample of which only the range is known, as the controller's sums tell it:
 * s = R / d2, with as many degrees of freedom as a chi distribution of the same relative spread has
 * (Patnaik 1950, Biometrika 37, 78-87; from memory). d2 and d3 are those of control charts (tabulated in
 * ASTM E2587 and the NIST/SEMATECH e-Handbook, 6.3.2), here by integration of their definitions.
 */
import { normalCdf } from "./quantiles.ts";

interface RangeFactors {
  /** Mean of the range of n normal values, in standard deviations. */
  readonly d2: number;
  /** Its standard deviation. */
  readonly d3: number;
}

/** Beyond this nothing of a normal distribution is left for sixty-four values. */
const REACH = 7;
const STEPS = 280;

const known = new Map<number, RangeFactors>();

/** @param n 2 or more */
export function rangeFactors(n: number): RangeFactors {
  const before = known.get(n);
  if (before !== undefined) return before;
  if (!Number.isSafeInteger(n) || n < 2) {
    throw new RangeError(`Expected the range of 2 or more values, got one of ${n}.`);
  }
  const width = (2 * REACH) / STEPS;
  const phi = Array.from({ length: STEPS + 1 }, (_, at) => normalCdf(-REACH + at * width));
  let mean = 0;
  let square = 0;
  for (const [at, upper] of phi.entries()) {
    mean += width * (1 - upper ** n - (1 - upper) ** n);
    // E R^2 = 2 times the integral over x < y of 1 - P(all <= y) - P(all >= x) + P(x < all < y).
    for (let below = 0; below <= at; below += 1) {
      const lower = phi[below] ?? 0;
      const weight = below === at ? 1 : 2;
      square += weight * width * width * (1 - upper ** n - (1 - lower) ** n + (upper - lower) ** n);
    }
  }
  const factors = { d2: mean, d3: Math.sqrt(square - mean * mean) };
  known.set(n, factors);
  return factors;
}

/**
 * @param range highest less lowest of n values
 * @returns standard deviation of one value, in the unit of the range, and its degrees of freedom
 * @throws RangeError for fewer than 2 values
 */
export function sdFromRange(
  range: number,
  n: number,
): { readonly sd: number; readonly dof: number } {
  const { d2, d3 } = rangeFactors(n);
  return { sd: range / d2, dof: chiDof(d3 / d2) };
}

/** Degrees of freedom of the chi distribution whose standard deviation is this part of its mean. */
function chiDof(relative: number): number {
  // 1 / (2 nu) to first order; the next one is a quarter of a degree of freedom.
  const first = 1 / (2 * relative * relative);
  return first + 0.25 - 3 / (16 * first);
}
