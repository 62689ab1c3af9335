/**
 * How many standard deviations from the mean of a sample hold a stated part of all that come, with a
 * stated confidence: normal tolerance factors, exact (NIST/SEMATECH e-Handbook of Statistical Methods,
 * 7.2.6.3; Odeh and Owen 1980, Tables for Normal Tolerance Limits).
 *
 * For values that are normal and know nothing of each other; the tails that they speak of are the first
 * that are not.
 */
import { findRoot } from "./find-root.ts";
import { quadratureOver } from "./gauss-legendre.ts";
import { chiSquareCdf, normalCdf, normalPdf, normalQuantile } from "./quantiles.ts";

export interface ToleranceWish {
  /** Values in the sample, 2 or more. */
  readonly n: number;
  /** The part of all values that is to be held, 0 < coverage < 1. */
  readonly coverage: number;
  readonly confidence: number;
}

const NODES = 80;
/** Standard deviations beyond which nothing is left that counts. */
const REACH = 9;
const FACTOR_MAX = 1e6;

/**
 * k so that mean + k s is above the stated part: a quantile of the noncentral t by the root of n.
 *
 * @throws RangeError for fewer than two values, or parts that are not between 0 and 1
 */
export function toleranceFactorOneSided(wish: ToleranceWish): number {
  const { n, coverage, confidence } = checked(wish);
  const away = normalQuantile(coverage) * Math.sqrt(n);
  // A limit at t deviations of the mean holds the part where the mean lies no lower than `away`, given
  // how wrong the sample's deviation is: a normal, averaged over chi. It turns about away / t.
  const chanceHeld = (t: number) =>
    averageOverChi(n - 1, (ratio) => normalCdf(t * ratio - away), [
      (away - REACH) / t,
      (away + REACH) / t,
    ]);
  return factorWhere((k) => chanceHeld(k * Math.sqrt(n)), confidence);
}

/** k so that mean - k s to mean + k s holds the stated part. */
export function toleranceFactorTwoSided(wish: ToleranceWish): number {
  const { n, coverage, confidence } = checked(wish);
  // Symmetric in the error of the mean, so one half of it is averaged over.
  const reach = REACH / Math.sqrt(n);
  const { nodes, weights } = quadratureOver(0, reach, NODES);
  const halfWidths = nodes.map((off) => halfWidthAbout(off, coverage));
  const density = nodes.map(
    (off, at) => 2 * (weights[at] ?? 0) * Math.sqrt(n) * normalPdf(off * Math.sqrt(n)),
  );
  const chanceHeld = (k: number) =>
    halfWidths.reduce((sum, half, at) => {
      const wideEnough = 1 - chiSquareCdf(((n - 1) * half ** 2) / k ** 2, n - 1);
      return sum + (density[at] ?? 0) * wideEnough;
    }, 0);
  return factorWhere(chanceHeld, confidence);
}

/** Half-width of the interval about `off` that holds this part of a standard normal. */
function halfWidthAbout(off: number, coverage: number): number {
  const missing = (half: number) => normalCdf(off + half) - normalCdf(off - half) - coverage;
  return findRoot(missing, [0, off + REACH]);
}

/**
 * Average over the deviation of a sample in units of the true one: chi by the root of its freedom.
 *
 * @param turns where `of` is steep
 */
function averageOverChi(
  dof: number,
  of: (ratio: number) => number,
  turns: readonly number[],
): number {
  const spread = REACH / Math.sqrt(2 * dof);
  const [low, high] = [Math.max(0, 1 - spread), 1 + spread];
  const inside = turns.filter((turn) => turn > low && turn < high);
  const edges = [low, ...inside, high];
  let [sum, whole] = [0, 0];
  for (const [at, from] of edges.slice(0, -1).entries()) {
    const { nodes, weights } = quadratureOver(from, edges[at + 1] ?? high, NODES);
    for (const [node, ratio] of nodes.entries()) {
      // The density is known but for its factor, which the sum of all gives.
      const log = (dof - 1) * Math.log(ratio) - (dof * (ratio * ratio - 1)) / 2;
      const part = (weights[node] ?? 0) * Math.exp(log);
      sum += part * of(ratio);
      whole += part;
    }
  }
  return sum / whole;
}

function factorWhere(chance: (k: number) => number, confidence: number): number {
  let high = 4;
  while (high < FACTOR_MAX && chance(high) < confidence) high *= 2;
  return findRoot((k) => chance(k) - confidence, [1e-6, high], 1e-9);
}

function checked(wish: ToleranceWish): ToleranceWish {
  const { n, coverage, confidence } = wish;
  const parts = [coverage, confidence].every((part) => part > 0 && part < 1);
  if (!(Number.isSafeInteger(n) && n >= 2 && parts)) {
    throw new RangeError(
      `A tolerance factor needs two values or more and parts between 0 and 1, got ${n}, ${coverage} and ${confidence}.`,
    );
  }
  return wish;
}
