/** The middle of a sample, and its spread, as a few wild values cannot move them. */

/** MAD of a normal in standard deviations: its upper quartile, so that the scaled MAD estimates sigma. */
const NORMAL_MAD = 0.6744897501960817;

/** @throws RangeError for an empty sample, or a value that is not a number */
export function median(values: Iterable<number>): number {
  return medianOfSorted(Float64Array.from(values).sort());
}

/** Of values that stand in rising order already. */
export function medianOfSorted(sorted: Float64Array): number {
  const upper = sorted[sorted.length >> 1];
  const lower = sorted[(sorted.length - 1) >> 1];
  // A typed array sorts what is not a number to its end.
  if (upper === undefined || lower === undefined || Number.isNaN(sorted.at(-1))) {
    throw new RangeError("A median needs one value or more, and numbers only.");
  }
  return (lower + upper) / 2;
}

/**
 * Median absolute deviation from the median, scaled to be the standard deviation of a normal sample
 * (Hampel 1974, JASA 69, 383-393). 0 where more than half of the values are equal; on a handful of values it
 * it comes out small: 17 % low on average at five, 11 % at eight (simulated).
 */
export function robustSd(values: readonly number[]): number {
  const middle = median(values);
  return median(values.map((value) => Math.abs(value - middle))) / NORMAL_MAD;
}
