/** Single sets that stand alone among their neighbours: a bad contact for one moment is no drift. */
import { median, robustSd } from "../../measure/statistics/median.ts";

/** Neighbours on each side that a set is compared with, and how far off is odd, standard deviations. */
const NEIGHBOURS = 3;
const ODD_SD = 6;

/**
 * @param volts  by set; NaN where there is none
 * @param leastV a spread that readings have anyway
 * @returns rows of the odd ones
 */
export function oddSets(volts: Float64Array, leastV: number): ReadonlySet<number> {
  const read = volts.includes(Number.NaN) ? volts.filter((one) => !Number.isNaN(one)) : volts;
  if (read.length < 2 * NEIGHBOURS) return new Set();
  const sd = Math.max(leastV, pairwiseSd(read));
  const odd = new Set<number>();
  let at = -1;
  for (let row = 0; row < volts.length; row += 1) {
    const own = volts[row] as number;
    if (Number.isNaN(own)) continue;
    at += 1;
    // What is near both its neighbours is near the middle of six; only few rows need that looked for.
    const before = Math.abs(own - (read[at - 1] ?? own));
    const after = Math.abs(own - (read[at + 1] ?? own));
    if (before < (ODD_SD / 2) * sd && after < (ODD_SD / 2) * sd) continue;
    const near = read.subarray(Math.max(0, at - NEIGHBOURS), at + NEIGHBOURS + 1);
    if (Math.abs(own - median(near)) > ODD_SD * sd) odd.add(row);
  }
  return odd;
}

/** Standard deviation by the differences of neighbours: what drifts slowly does not count. */
export function pairwiseSd(values: ArrayLike<number>): number {
  const differences = new Float64Array(Math.max(0, values.length - 1));
  for (let at = 0; at < differences.length; at += 1) {
    differences[at] = (values[at + 1] as number) - (values[at] as number);
  }
  return differences.length === 0 ? 0 : robustSd(differences) / Math.SQRT2;
}
