/**
 * Expanded uncertainty where one bounded term may dominate, such as the step of a converter.
 *
 * The root sum of squares with k = 2 overstates such a sum: 95 % of a lone rectangular term of half-width a
 * lie inside 0.95 a, which is k = 1.65 (EA-4/02 M:2022, example S9; number from memory, and 0.95 times the
 * root of 3). So the two are convolved, as JCGM 100:2008 G.1.4 to G.1.6 say one would if it were needed.
 */
import { coverageFactor, NORMAL_95 } from "./effective-dof.ts";
import { normalCdf, normalPdf } from "./quantiles.ts";

const CONFIDENCE = 0.95;
/** Halvings of the bracket: to its own size by the last digits of a double. */
const HALVINGS = 48;
/** Below this the bounded term's shape is lost, and cancellation would show before it. */
const RATIO_NEGLIGIBLE = 1e-3;

export interface BoundedAndRest {
  /** Half-width of the one bounded (rectangular) term, volts. */
  readonly rectangularV: number;
  /** Combined standard uncertainty of all other terms, volts. */
  readonly restV: number;
  /** Effective degrees of freedom of that rest; Infinity for known. */
  readonly restDof: number;
}

/**
 * U for 95 %: the half-width that the sum of a rectangular and a normal error, independent and
 * centred, exceeds 5 % of the time.
 *
 * A rest of few degrees of freedom stands in as the normal that has the same 95 % half-width as its
 * Student t. That is exact where either term is alone. Between, it errs to the wide side, by 5 % at most
 * from 3 degrees of freedom on and by 12 % at one.
 *
 * @returns volts; 0 when both terms are
 * @throws RangeError for a term that is negative or not finite, or degrees of freedom not positive
 */
export function halfWidth95({ rectangularV, restV, restDof }: BoundedAndRest): number {
  for (const term of [rectangularV, restV]) {
    if (!(term >= 0 && term < Number.POSITIVE_INFINITY)) {
      throw new RangeError(`An uncertainty term must be zero or more volts, got ${term}.`);
    }
  }
  const factor = coverageFactor(restDof);
  const normalV = (restV * factor) / NORMAL_95;
  if (normalV === 0) return CONFIDENCE * rectangularV;
  const ratio = rectangularV / normalV;
  if (ratio < RATIO_NEGLIGIBLE) return NORMAL_95 * normalV * Math.sqrt(1 + ratio ** 2 / 3);
  let low = 0;
  let high = ratio + NORMAL_95;
  for (let halving = 0; halving < HALVINGS; halving += 1) {
    const middle = (low + high) / 2;
    if (coverage(middle, ratio) < CONFIDENCE) low = middle;
    else high = middle;
  }
  return high * normalV;
}

/**
 * Probability that a rectangular term of half-width `a` plus a standard normal stays inside +-h: the
 * mean of the normal's own probability over the rectangle, in closed form.
 */
function coverage(h: number, a: number): number {
  return (integralOfCdf(h + a) - integralOfCdf(h - a)) / a - 1;
}

/** Integral of the standard normal's distribution function from minus infinity to x. */
function integralOfCdf(x: number): number {
  return x * normalCdf(x) + normalPdf(x);
}
