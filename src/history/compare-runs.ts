/** What changed between two runs of one unit, beyond what either is uncertain by. */
import type { LevelClass } from "../events/levels.ts";
import type { ResultRow, RunRow } from "../store/run-index/tables.ts";
import { levelKey, levelsOf } from "./level.ts";

export interface LevelChange {
  readonly channel: string;
  readonly expected: LevelClass;
  readonly thenV: number;
  readonly nowV: number;
  readonly changeV: number;
  /** Expanded uncertainty of the change for 95 %, volts; null where that of either run is not evaluated. */
  readonly expandedV: number | null;
  readonly of: "mean" | "worst case";
  readonly found: "changed" | "within uncertainty" | "not evaluated";
}

/**
 * Levels that both runs have, in the order of the newer.
 *
 * The uncertainty of a difference is the root sum of squares of both, as JCGM 100:2008, 5.1.2, has it for
 * values that share no error. Two runs on one rig under one calibration share most of theirs, so it is at
 * most that: a change that is smaller may still be one.
 */
export function compareLevels(
  then: readonly ResultRow[],
  now: readonly ResultRow[],
): LevelChange[] {
  const before = new Map(levelsOf(then).map((level) => [levelKey(level), level]));
  return levelsOf(now).flatMap((level) => {
    const earlier = before.get(levelKey(level));
    // A mean is held against a mean: a worst case lies further out by nature.
    if (earlier === undefined || earlier.of !== level.of) return [];
    const changeV = level.volts - earlier.volts;
    const expandedV =
      level.expandedV === null || earlier.expandedV === null
        ? null
        : Math.hypot(level.expandedV, earlier.expandedV);
    return [
      {
        channel: level.channel,
        expected: level.expected,
        thenV: earlier.volts,
        nowV: level.volts,
        changeV,
        expandedV,
        of: level.of,
        found: foundOf(changeV, expandedV),
      },
    ];
  });
}

function foundOf(changeV: number, expandedV: number | null): LevelChange["found"] {
  if (expandedV === null) return "not evaluated";
  return Math.abs(changeV) > expandedV ? "changed" : "within uncertainty";
}

/** What else is not the same in two runs, one clause each: a change of level may be a change of these. */
export function differences(then: RunRow, now: RunRow): string[] {
  const files: readonly [string, keyof RunRow][] = [
    ["the board file", "boardSha256"],
    ["the sequence file", "sequenceSha256"],
    ["the rig file", "rigSha256"],
  ];
  const changed = files.filter(([, key]) => then[key] !== now[key]).map(([name]) => name);
  return [
    ...(then.rig === now.rig ? [] : [`another rig (${then.rig}, now ${now.rig})`]),
    ...changed.map((name) => `${name} changed`),
    ...(then.calibration === now.calibration
      ? []
      : [`another calibration (${then.calibration ?? "none"}, now ${now.calibration ?? "none"})`]),
    ...(then.rule === now.rule ? [] : ["another decision rule"]),
  ];
}
