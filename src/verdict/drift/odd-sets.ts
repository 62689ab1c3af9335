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
  const rows = [...volts.keys()].filter((row) => !Number.isNaN(volts[row]));
  if (rows.length < 2 * NEIGHBOURS) return new Set();
  const read = rows.map((row) => volts[row] as number);
  const sd = Math.max(leastV, pairwiseSd(read));
  const odd = rows.filter((_, at) => {
    const own = read[at] as number;
    // What is near both its neighbours is near the middle of six; only few rows need that sorted.
    const before = Math.abs(own - (read[at - 1] ?? own));
    const after = Math.abs(own - (read[at + 1] ?? own));
    if (Math.max(before, after) < (ODD_SD / 2) * sd) return false;
    const near = read.slice(Math.max(0, at - NEIGHBOURS), at + NEIGHBOURS + 1);
    return Math.abs(own - median(near)) > ODD_SD * sd;
  });
  return new Set(odd);
}

/** Standard deviation by the differences of neighbours: what drifts slowly does not count. */
export function pairwiseSd(values: ArrayLike<number>): number {
  const differences = Array.from(
    { length: Math.max(0, values.length - 1) },
    (_, at) => (values[at + 1] as number) - (values[at] as number),
  );
  return differences.length === 0 ? 0 : robustSd(differences) / Math.SQRT2;
}
