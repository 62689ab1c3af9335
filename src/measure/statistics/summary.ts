/**
 * Mean, standard deviation and lag-1 autocorrelation of a sample, so that values which share their
 * leading digits, as a level and its noise do, keep the digits of their differences.
 *
 * Held to NIST StRD, univariate summary statistics: ten digits and more, except where the data cannot be
 * written in binary: NumAcc3 and NumAcc4 (one part in 1e7 and 1e8 about a mean) give 9 and 8 digits of
 * their deviation to any double.
 */

export interface Summary {
  readonly n: number;
  readonly mean: number;
  /** With divisor n - 1. */
  readonly sd: number;
  /**
   * Sum of products of neighbours' deviations over the sum of squares, the definition of StRD. Near 0
   * for values that know nothing of each other; 0 where all are equal.
   */
  readonly lag1: number;
}

/** @throws RangeError for fewer than two values, or one that is not finite */
export function summarise(values: readonly number[]): Summary {
  const n = values.length;
  if (n < 2) throw new RangeError(`A deviation needs two values or more, got ${n}.`);
  const odd = values.find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`A sample has finite values only, got ${odd}.`);
  const mean = sumOf(values) / n;
  const off = values.map((value) => value - mean);
  // The mean is rounded; what that leaves in the deviations is taken out of them, and put into it: the
  // corrected two-pass way (Chan, Golub and LeVeque 1983, The American Statistician 37, 242-247).
  const left = sumOf(off) / n;
  const squares = sumOf(off.map((one) => (one - left) ** 2));
  const products = sumOf(off.slice(1).map((one, at) => (one - left) * ((off[at] ?? left) - left)));
  return {
    n,
    mean: mean + left,
    sd: Math.sqrt(squares / (n - 1)),
    lag1: squares === 0 ? 0 : products / squares,
  };
}

function sumOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0);
}
