/** The middle of a sample, and its spread, as a few wild values cannot move them. */

/** MAD of a normal in standard deviations: its upper quartile, so that the scaled MAD estimates sigma. */
const NORMAL_MAD = 0.6744897501960817;

/** @throws RangeError for an empty sample, or a value that is not a number */
export function median(values: ArrayLike<number>): number {
  return middleOf(new Float64Array(values));
}

/** Of values that stand in rising order already. */
export function medianOfSorted(sorted: Float64Array): number {
  const upper = sorted[sorted.length >> 1];
  const lower = sorted[(sorted.length - 1) >> 1];
  // A typed array sorts what is not a number to its end.
  if (upper === undefined || lower === undefined || Number.isNaN(sorted.at(-1))) {
    throw noMedian();
  }
  return (lower + upper) / 2;
}

/**
 * Median absolute deviation from the median, scaled to be the standard deviation of a normal sample
 * (Hampel 1974, JASA 69, 383-393). 0 where more than half of the values are equal; on a handful of values it
 * it comes out small: 17 % low on average at five, 11 % at eight (simulated).
 */
export function robustSd(values: ArrayLike<number>): number {
  const middle = median(values);
  const off = new Float64Array(values);
  for (let at = 0; at < off.length; at += 1) off[at] = Math.abs((off[at] as number) - middle);
  return middleOf(off) / NORMAL_MAD;
}

/**
 * By selection, in a time that goes with their number: a long run asks for thousands of medians.
 *
 * @param values put in another order
 * @source C. A. R. Hoare, Algorithm 65: FIND, Communications of the ACM 4 (1961), 321-322
 */
function middleOf(values: Float64Array): number {
  if (values.length === 0) throw noMedian();
  for (const value of values) if (Number.isNaN(value)) throw noMedian();
  const upperAt = values.length >> 1;
  let [from, to] = [0, values.length - 1];
  while (from < to) {
    const split = values[(from + to) >> 1] as number;
    let [low, high] = [from, to];
    while (low <= high) {
      while ((values[low] as number) < split) low += 1;
      while ((values[high] as number) > split) high -= 1;
      if (low > high) break;
      const swapped = values[low] as number;
      values[low] = values[high] as number;
      values[high] = swapped;
      low += 1;
      high -= 1;
    }
    // All up to `high` are at most `split`, all from `low` on at least: what lies between equals it.
    if (high < upperAt) from = low;
    if (low > upperAt) to = high;
  }
  const upper = values[upperAt] as number;
  if (values.length % 2 === 1) return upper;
  let lower = Number.NEGATIVE_INFINITY;
  for (let at = 0; at < upperAt; at += 1) lower = Math.max(lower, values[at] as number);
  return (lower + upper) / 2;
}

function noMedian(): RangeError {
  return new RangeError("A median needs one value or more, and numbers only.");
}
