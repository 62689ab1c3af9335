/** What moves a level besides its section: rails, the converter's reference, temperature. */
import { median } from "../../measure/statistics/median.ts";
import type { DriftSet } from "./drift-set.ts";

const INFLUENCES = ["plate", "bias", "heater", "reference", "temperature"] as const;
export type Influence = (typeof INFLUENCES)[number];

export interface InfluenceColumns {
  readonly names: readonly Influence[];
  /** What each stood at, in the middle of the run: volts, and degrees Celsius. */
  readonly middles: readonly number[];
  /** By influence, then by set: distance from the middle; of the reference, as a part of it. */
  readonly values: readonly Float64Array[];
  /** Sets in which every one of them was read. */
  readonly usable: readonly boolean[];
}

/** A rail that is missing in more sets than this is taken as not read at all, rather than losing them. */
const MISSING_SHARE_MAX = 0.2;
/** Sets on each side over which the reference is averaged. */
const SMOOTH_SETS = 6;

/**
 * Rails are read by the reference as it was measured in the same breath, whose own noise (a quarter of a
 * thousandth or so, from a ten-bit code) is then in all of them alike. A reference drifts slowly, so its
 * noise is averaged away over an hour, and rails are taken back to the average.
 */
export function influenceColumns(sets: readonly DriftSet[]): InfluenceColumns {
  const references = smooth(sets.map(({ referenceV }) => referenceV));
  const readingOf = (name: Influence, row: number): number | null => {
    const { rails, referenceV, celsius } = sets[row] as DriftSet;
    if (name === "temperature") return celsius;
    const reference = references[row] ?? null;
    if (name === "reference") return reference;
    const volts = rails[name] ?? null;
    if (volts === null || reference === null || referenceV === null) return volts;
    return (volts * reference) / referenceV;
  };
  const all = INFLUENCES.map((name) => ({ name, raw: sets.map((_, row) => readingOf(name, row)) }));
  const read = all.filter(
    ({ raw }) =>
      raw.length > 0 && raw.filter((one) => one === null).length <= MISSING_SHARE_MAX * sets.length,
  );
  const middles = read.map(({ raw }) => median(raw.filter((one) => one !== null)));
  const values = read.map(({ name, raw }, at) => {
    const middle = middles[at] as number;
    const unit = name === "reference" ? middle : 1;
    return Float64Array.from(raw, (one) => (one === null ? Number.NaN : (one - middle) / unit));
  });
  const usable = sets.map((_, row) => values.every((column) => !Number.isNaN(column[row])));
  return { names: read.map(({ name }) => name), middles, values, usable };
}

function smooth(values: readonly (number | null)[]): (number | null)[] {
  return values.map((value, row) => {
    if (value === null) return null;
    const near = values
      .slice(Math.max(0, row - SMOOTH_SETS), row + SMOOTH_SETS + 1)
      .filter((one) => one !== null);
    return near.reduce((sum, one) => sum + one, 0) / near.length;
  });
}
