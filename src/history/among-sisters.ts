/** A unit among its sisters: how far each of its levels lies from the middle of theirs. */
import type { LevelClass } from "../events/levels.ts";
import { median } from "../measure/statistics/median.ts";
import { robustZ } from "../measure/statistics/robust-z.ts";
import { type Level, levelKey } from "./level.ts";

export interface AmongSisters {
  readonly channel: string;
  readonly expected: LevelClass;
  readonly volts: number;
  /** Middle of the unit and its sisters together. */
  readonly medianV: number;
  /** Units that have this level, the one asked about among them. */
  readonly units: number;
  /** Null with too few units to tell, or where they agree to the last digit. */
  readonly z: number | null;
}

/** Fewer units than this have no middle that one of them could be far from. */
export const UNITS_LEAST = 5;
/** Beyond it a value is a potential outlier: Iglewicz and Hoaglin 1993, in NIST/SEMATECH 1.3.5.17. */
export const Z_FAR = 3.5;
/**
 * Spread that boards have at least, volts, where no uncertainty is evaluated: a step of a ten-bit converter
 * behind a divider by ten (common practice). Without it a hair would stand out among boards that agree.
 */
const SPREAD_LEAST_V = 0.05;
/** Expanded to standard uncertainty, for a normal error. */
const K_95 = 1.96;

/** @param sisters levels of each other unit */
export function amongSisters(
  own: readonly Level[],
  sisters: readonly (readonly Level[])[],
): AmongSisters[] {
  const theirs = new Map<string, number[]>();
  for (const level of sisters.flat()) {
    const key = levelKey(level);
    theirs.set(key, [...(theirs.get(key) ?? []), level.volts]);
  }
  return own.map((level) => {
    const all = [level.volts, ...(theirs.get(levelKey(level)) ?? [])];
    const spreadV = level.expandedV === null ? SPREAD_LEAST_V : level.expandedV / K_95;
    return {
      channel: level.channel,
      expected: level.expected,
      volts: level.volts,
      medianV: median(all),
      units: all.length,
      z: all.length < UNITS_LEAST ? null : (robustZ(all, spreadV)?.[0] ?? null),
    };
  });
}
