/**
 * The first cycle after standing still or warming up against the ones that follow: a section that stood cut
 * off with its heater on may conduct less at first, where a layer between cathode sleeve and coating
 * has grown (cathode interface resistance). What all sections do alike (warming on) is no finding.
 */
import { median } from "../../measure/statistics/median.ts";
import type { DriftSet } from "./drift-set.ts";
import { levelSeries } from "./level-series.ts";

export interface FirstOn {
  readonly net: string;
  /** Volts above the sets that follow, beyond what its sisters stood above theirs; mean over the times. */
  readonly firstV: number;
  /** In standard deviations. */
  readonly sd: number;
  readonly times: number;
}

/** Sets after a first one that it is held against. */
const AFTER = 3;
/** Less than this is no matter, however sure. Volts. */
const FIRST_V_MIN = 0.02;

/**
 * @param sets   all of the run, in the order of time
 * @param noiseV of one set, by net
 * @returns empty where the board never stood still
 */
export function firstOn(sets: readonly DriftSet[], noiseV: ReadonlyMap<string, number>): FirstOn[] {
  const times = [...sets.keys()].filter((row) => sets[row]?.moment === "first on");
  if (times.length === 0) return [];
  const lows = levelSeries(sets).filter((one) => one.class === "low" && noiseV.has(one.net));
  const jumps = lows.map(({ volts }) => times.map((row) => jumpAt(volts, row, sets)));
  return lows.map(({ net }, which) => {
    const own = times.flatMap((_, time) => {
      const jump = jumps[which]?.[time];
      if (jump === undefined || Number.isNaN(jump)) return [];
      const sisters = jumps
        .filter((_one, other) => other !== which)
        .map((one) => one[time] as number)
        .filter((one) => !Number.isNaN(one));
      return [jump - (sisters.length === 0 ? 0 : median(sisters))];
    });
    const sisters = Math.max(1, lows.length - 1);
    const sdV =
      (noiseV.get(net) as number) *
      Math.sqrt(((1 + 1 / AFTER) * (1 + 1 / sisters)) / Math.max(1, own.length));
    const firstV = own.length === 0 ? 0 : own.reduce((sum, one) => sum + one, 0) / own.length;
    return { net, firstV, sd: firstV < FIRST_V_MIN ? 0 : firstV / sdV, times: own.length };
  });
}

function jumpAt(volts: Float64Array, row: number, sets: readonly DriftSet[]): number {
  const after: number[] = [];
  for (let at = row + 1; at < sets.length && after.length < AFTER; at += 1) {
    if (sets[at]?.moment === "first on" || sets[at]?.leg !== sets[row]?.leg) break;
    if (sets[at]?.moment === "settled" && !Number.isNaN(volts[at])) after.push(volts[at] as number);
  }
  return after.length === 0 ? Number.NaN : (volts[row] as number) - median(after);
}
