/** The least whole number for which something begins to hold. */

/** Beyond this a number is no longer whole in a double. */
const WHOLE_MAX = Number.MAX_SAFE_INTEGER / 4;

/**
 * @param holds once true, true for all greater numbers
 * @param from  where to begin, a whole number
 * @returns Infinity where it holds for no number that a double can count
 */
export function leastWhole(holds: (count: number) => boolean, from: number): number {
  if (holds(from)) return from;
  let reach = 1;
  while (!holds(from + reach)) {
    reach *= 2;
    if (reach > WHOLE_MAX) return Number.POSITIVE_INFINITY;
  }
  let [low, high] = [from + Math.floor(reach / 2), from + reach];
  while (high - low > 1) {
    const middle = low + Math.floor((high - low) / 2);
    if (holds(middle)) high = middle;
    else low = middle;
  }
  return high;
}
