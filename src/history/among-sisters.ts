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

/** Volts of one level, unit by unit, as many boards have them. */
export type SisterLevels = ReadonlyMap<string, readonly SisterLevel[]>;

interface SisterLevel {
  /** Whose it is, so that a unit is not held against itself. */
  readonly unit: string | null;
  readonly volts: number;
}

/** @param units levels of each unit @returns by level */
export function sisterLevels(
  units: readonly { readonly unit: string | null; readonly levels: readonly Level[] }[],
): SisterLevels {
  const by = new Map<string, SisterLevel[]>();
  for (const { unit, levels } of units) {
    for (const level of levels) {
      const key = levelKey(level);
      const volts = by.get(key) ?? [];
      volts.push({ unit, volts: level.volts });
      by.set(key, volts);
    }
  }
  return by;
}

/** @param own levels of the unit; what `sisters` have of it is left out */
export function amongSisters(
  unit: string | null,
  own: readonly Level[],
  sisters: SisterLevels,
): AmongSisters[] {
  return own.map((level) => {
    const theirs = (sisters.get(levelKey(level)) ?? []).filter((one) => one.unit !== unit);
    const all = [level.volts, ...theirs.map(({ volts }) => volts)];
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
