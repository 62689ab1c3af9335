/** `holdfast history`: units and runs that were kept, and one unit's levels over its runs. */
import { writeFileSync } from "node:fs";
import { type Trend, trendsOf } from "../history/trend.ts";
import { trendSvg } from "../pictures/svg-trend.ts";
import type { RunIndex } from "../store/run-index/open-index.ts";
import {
  type ListedRun,
  type ListedUnit,
  listUnits,
  resultsOf,
  runsOfUnit,
  unreadableRuns,
} from "../store/run-index/runs-of.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { withFreshIndex } from "./history/fresh-index.ts";
import { runLines, trendLines, unitLines } from "./history/history-lines.ts";
import { statusOfFault } from "./history/status-of-fault.ts";
import { UsageError } from "./usage-error.ts";

export interface HistoryOptions {
  readonly runs: string;
  /** Runs of a unit that are listed, newest first; all count in its trends. */
  readonly last: number;
  readonly net: string | null;
  /** File for the trends as a picture. */
  readonly svg: string | null;
  readonly json: boolean;
  readonly ascii: boolean;
}

/**
 * @param unit serial; null lists every unit
 * @returns 0, or what a fault of the index leaves behind
 * @throws UsageError
 */
export async function historyCommand(
  unit: string | null,
  options: HistoryOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  if (unit === null && options.svg !== null) {
    throw new UsageError("Expected a unit whose trends are to be drawn, got --svg without one.");
  }
  return statusOfFault(io, () =>
    withFreshIndex(options.runs, io, async (index) => {
      const lines =
        unit === null ? await allUnits(index, options) : await oneUnit(index, unit, options);
      for (const line of lines) io.out(line);
      return EXIT.pass;
    }),
  );
}

async function allUnits(index: RunIndex, { json }: HistoryOptions): Promise<string[]> {
  const units = await listUnits(index);
  const unreadable = await unreadableRuns(index);
  if (json) return [...units, ...unreadable].map((one) => JSON.stringify(one));
  if (units.length === 0 && unreadable.length === 0) return ["No runs yet."];
  return [...unitLines(units), ...unreadable.map(({ run, why }) => `Not read: ${run}: ${why}`)];
}

async function oneUnit(index: RunIndex, unit: string, options: HistoryOptions): Promise<string[]> {
  const runs = await runsOfUnit(index, unit);
  if (runs.length === 0) throw await noSuchUnit(index, unit);
  const boards = [...new Set(runs.map(({ board, bench }) => `${board} ${bench}`))];
  const told: string[] = [];
  for (const board of boards) {
    const own = runs.filter((run) => `${run.board} ${run.bench}` === board);
    const trends = await trendsOfRuns(index, own, options.net);
    if (options.svg !== null) draw(options.svg, { unit, runs: own, trends });
    told.push(
      ...(options.json
        ? [...own, ...trends].map((one) => JSON.stringify(one))
        : [...runLines(unit, own, options.last), "", ...trendLines(trends, options.ascii), ""]),
    );
  }
  return options.json ? told : told.slice(0, -1);
}

/** Trends are of what was judged: by-hand runs and rig checks have none. */
async function trendsOfRuns(
  index: RunIndex,
  runs: readonly ListedRun[],
  net: string | null,
): Promise<Trend[]> {
  const judged = runs.filter(({ mode }) => mode === "proof" || mode === "soak");
  const oldestFirst = [...judged].reverse();
  const results = await resultsOf(
    index,
    oldestFirst.map(({ run }) => run),
  );
  const trends = trendsOf(oldestFirst, results);
  if (net === null) return trends;
  const chosen = trends.filter(({ channel }) => channel === net);
  if (chosen.length > 0) return chosen;
  const nets = [...new Set(trends.map(({ channel }) => channel))];
  throw new UsageError(`Expected --net as one of ${nets.join(", ") || "no net"}, got "${net}".`);
}

function draw(
  path: string,
  given: {
    readonly unit: string;
    readonly runs: readonly ListedRun[];
    readonly trends: readonly Trend[];
  },
): void {
  const [newest] = given.runs;
  if (newest === undefined) return;
  const { board, revision } = newest;
  const picture = trendSvg({ title: `${given.unit}, ${board} revision ${revision}`, ...given });
  try {
    writeFileSync(path, picture);
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected to write the picture ${path}, but ${why}. Name another file.`);
  }
}

async function noSuchUnit(index: RunIndex, unit: string): Promise<UsageError> {
  const known = (await listUnits(index)).flatMap((one: ListedUnit) => one.unit ?? []);
  const names = known.length === 0 ? "no run names one" : known.slice(0, 20).join(", ");
  return new UsageError(
    `Expected a unit that was on the bench (${names}), got "${unit}". Runs without --unit belong to none.`,
  );
}
