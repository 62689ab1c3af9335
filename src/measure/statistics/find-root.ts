/**
 * Where a function crosses zero between two ends, by bisection that follows the chord while that helps:
 * the Illinois rule (Dowell and Jarratt 1971, BIT 11, 168-174).
 */

/** More than bisection alone needs for all digits of a double. */
const STEPS_MAX = 200;

/**
 * @param f    continuous, of opposite signs at the ends
 * @param ends low end first
 * @param tolerance width of the last bracket as a part of the root
 * @throws RangeError when both ends have one sign, or a value is not a number
 */
export function findRoot(
  f: (x: number) => number,
  ends: readonly [low: number, high: number],
  tolerance = 1e-12,
): number {
  let [low, high] = ends;
  let [atLow, atHigh] = [f(low), f(high)];
  if (!(atLow * atHigh <= 0)) {
    throw new RangeError(
      `No crossing between ${low} and ${high}: the values there are ${atLow} and ${atHigh}.`,
    );
  }
  let kept: "low" | "high" | null = null;
  for (let step = 0; step < STEPS_MAX && atLow !== 0 && atHigh !== 0; step += 1) {
    if (Math.abs(high - low) <= tolerance * Math.max(Math.abs(low), Math.abs(high))) break;
    const chord = high - (atHigh * (high - low)) / (atHigh - atLow);
    // Every third step halves, so that a flat end cannot hold the bracket open.
    const inside = chord > low && chord < high && step % 3 !== 2;
    const middle = inside ? chord : (low + high) / 2;
    const value = f(middle);
    if (Number.isNaN(value)) throw new RangeError(`The function has no value at ${middle}.`);
    if (Math.sign(value) === Math.sign(atLow)) {
      low = middle;
      atLow = value;
      if (kept === "high") atHigh /= 2;
      kept = "high";
    } else {
      high = middle;
      atHigh = value;
      if (kept === "low") atLow /= 2;
      kept = "low";
    }
  }
  if (atLow === 0) return low;
  return atHigh === 0 ? high : (low + high) / 2;
}
