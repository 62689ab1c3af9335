/** One net at one level over the runs of a unit. */
import type { LevelClass } from "../events/levels.ts";
import type { ResultRow, RunRow } from "../store/run-index/tables.ts";

interface TrendPoint {
  readonly run: string;
  readonly openedMs: number;
  readonly worstV: number;
  /** Null where no readings were kept one by one. */
  readonly meanV: number | null;
  readonly expandedV: number | null;
}

export interface Trend {
  readonly channel: string;
  readonly expected: LevelClass;
  /** Of the newest run. */
  readonly limitV: number | null;
  /** Oldest first. */
  readonly points: readonly TrendPoint[];
}

/** @param runs oldest first @param results of these runs, in any order */
export function trendsOf(
  runs: readonly Pick<RunRow, "run" | "openedMs">[],
  results: readonly ResultRow[],
): Trend[] {
  const at = new Map(runs.map(({ run, openedMs }, place) => [run, { place, openedMs }]));
  const inOrder = results
    .filter(({ kind, run }) => kind === "net" && at.has(run))
    .sort((one, other) => (at.get(one.run)?.place ?? 0) - (at.get(other.run)?.place ?? 0));
  const trends = new Map<string, Trend>();
  for (const result of inOrder) {
    const { channel, expected, run, worstV, meanV, limitV, worstExpandedV } = result;
    if (worstV === null) continue;
    const key = `${channel} ${expected}`;
    const before = trends.get(key)?.points ?? [];
    const openedMs = at.get(run)?.openedMs ?? 0;
    const point = { run, openedMs, worstV, meanV, expandedV: worstExpandedV };
    trends.set(key, { channel, expected, limitV, points: [...before, point] });
  }
  return [...trends.values()].sort(
    (one, other) =>
      one.channel.localeCompare(other.channel, "en", { numeric: true }) ||
      other.expected.localeCompare(one.expected, "en"),
  );
}

/** Where a picture of these volts begins and ends, so that noise is never drawn as a slope. */
export interface TrendScale {
  readonly lowV: number;
  readonly highV: number;
}

/** Height of a picture in expanded uncertainties, and in volts where none is evaluated. */
const SCALE_IN_U = 4;
const SCALE_LEAST_V = 0.5;

/** @throws RangeError for a trend without points */
export function scaleOf({ points }: Pick<Trend, "points">): TrendScale {
  if (points.length === 0) throw new RangeError("A trend without points has no scale.");
  const volts = points.map(({ worstV }) => worstV);
  const lowV = Math.min(...volts);
  const highV = Math.max(...volts);
  const known = points.flatMap(({ expandedV }) => (expandedV === null ? [] : [expandedV]));
  const least = known.length === 0 ? SCALE_LEAST_V : SCALE_IN_U * Math.max(...known);
  const room = Math.max(0, least - (highV - lowV)) / 2;
  return { lowV: lowV - room, highV: highV + room };
}
