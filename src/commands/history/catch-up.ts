/** The index brought to what lies in the runs folder: new and grown journals read, gone ones forgotten. */
import { readdirSync } from "node:fs";
import { knownRuns } from "../../store/run-index/known-runs.ts";
import type { RunIndex } from "../../store/run-index/open-index.ts";
import { changeIndex } from "../../store/run-index/put-run.ts";
import { UsageError } from "../usage-error.ts";
import { journalBytes, type ReadRun, readRun } from "./read-run.ts";

/** What was behind, by count of runs. */
export interface CaughtUp {
  readonly read: number;
  readonly unreadable: number;
  readonly gone: number;
}

/** Runs kept in memory until they are written. */
const RUNS_AT_ONCE = 50;

/**
 * @param onProgress told after each piece, of a long one
 * @throws IndexFault, UsageError when there is no folder of runs
 */
export async function catchUp(
  index: RunIndex,
  runsFolder: string,
  onProgress: (done: number, of: number) => void = () => undefined,
): Promise<CaughtUp> {
  const known = await knownRuns(index);
  const found = journalsIn(runsFolder);
  const gone = [...known.keys()].filter((run) => !found.has(run));
  const behind = [...found].filter(([run, bytes]) => known.get(run) !== bytes);
  if (gone.length > 0) await changeIndex(index, { runs: [], unreadable: [], gone });
  let unreadable = 0;
  for (let at = 0; at < behind.length; at += RUNS_AT_ONCE) {
    const some = behind.slice(at, at + RUNS_AT_ONCE);
    unreadable += await putRuns(
      index,
      some.map(([run, bytes]) => readRun(runsFolder, run, bytes)),
    );
    onProgress(Math.min(at + RUNS_AT_ONCE, behind.length), behind.length);
  }
  return { read: behind.length - unreadable, unreadable, gone: gone.length };
}

/** @returns how many of them could not be read */
export async function putRuns(index: RunIndex, read: readonly ReadRun[]): Promise<number> {
  const runs = read.flatMap((one) => (one.kind === "read" ? [one.facts] : []));
  const unreadable = read.flatMap((one) => (one.kind === "unreadable" ? [one.row] : []));
  await changeIndex(index, { runs, unreadable, gone: [] });
  return unreadable.length;
}

/** Size of each journal below a folder, by the run's name. @throws UsageError */
function journalsIn(runsFolder: string): Map<string, number> {
  const found = new Map<string, number>();
  for (const name of foldersIn(runsFolder)) {
    const bytes = journalBytes(runsFolder, name);
    if (bytes !== null) found.set(name, bytes);
  }
  return found;
}

function foldersIn(runsFolder: string): string[] {
  try {
    return readdirSync(runsFolder, { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .map(({ name }) => name);
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(
      `Expected a folder of runs at "${runsFolder}", but ${why}. Name another with --runs.`,
    );
  }
}
