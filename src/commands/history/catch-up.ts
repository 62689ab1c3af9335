/** The index brought to what lies in the runs folder: new and grown journals read, gone ones forgotten. */
import { readdirSync } from "node:fs";
import { rigCheckOf, rigCheckSizes } from "../../store/rig-checks.ts";
import { knownFiles } from "../../store/run-index/known-files.ts";
import type { RunIndex } from "../../store/run-index/open-index.ts";
import { putNotes, putRigChecks } from "../../store/run-index/put-beside.ts";
import { changeIndex } from "../../store/run-index/put-run.ts";
import type { RigCheckRow } from "../../store/run-index/tables.ts";
import { UsageError } from "../usage-error.ts";
import { readNotes } from "./read-notes.ts";
import { journalBytes, type ReadRun, readRun } from "./read-run.ts";

/** What was behind, by count of runs, and what could not be read, as sentences. */
export interface CaughtUp {
  readonly read: number;
  readonly unreadable: number;
  readonly gone: number;
  readonly said: readonly string[];
}

/** Runs kept in memory until they are written. */
const RUNS_AT_ONCE = 50;

/**
 * @param onProgress told after each piece, of a long one
 * @throws IndexFault, UsageError when there is no folder of runs, or its notes cannot be read
 */
export async function catchUp(
  index: RunIndex,
  runsFolder: string,
  onProgress: (done: number, of: number) => void = () => undefined,
): Promise<CaughtUp> {
  const known = await knownFiles(index);
  const names = namesIn(runsFolder);
  const behind = names.flatMap((run) => changed(runsFolder, run, known.runs));
  const gone = goneFrom(runsFolder, known.runs, new Set(names));
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
  const said = await rigChecksAgain(index, runsFolder, known.rigChecks);
  const notes = await readNotes(runsFolder);
  if ((notes.file?.sha256 ?? null) !== known.notes) await putNotes(index, notes);
  return { read: behind.length - unreadable, unreadable, gone: gone.length, said };
}

/** @returns how many of them could not be read */
export async function putRuns(index: RunIndex, read: readonly ReadRun[]): Promise<number> {
  const runs = read.flatMap((one) => (one.kind === "read" ? [one.facts] : []));
  const unreadable = read.flatMap((one) => (one.kind === "unreadable" ? [one.row] : []));
  await changeIndex(index, { runs, unreadable, gone: [] });
  return unreadable.length;
}

/** A closed run is not looked at again: what changes one of its files says so to the index itself. */
function changed(
  runsFolder: string,
  run: string,
  known: ReadonlyMap<string, number | null>,
): [run: string, bytes: number][] {
  const before = known.get(run);
  if (before === null) return [];
  const bytes = journalBytes(runsFolder, run);
  return bytes === null || before === bytes ? [] : [[run, bytes]];
}

/** A folder that has lost its journal is no run any more; of a closed one only the folder is looked for. */
function goneFrom(
  runsFolder: string,
  known: ReadonlyMap<string, number | null>,
  names: ReadonlySet<string>,
): string[] {
  return [...known].flatMap(([run, bytes]) => {
    const isThere = names.has(run) && (bytes === null || journalBytes(runsFolder, run) !== null);
    return isThere ? [] : [run];
  });
}

async function rigChecksAgain(
  index: RunIndex,
  runsFolder: string,
  known: ReadonlyMap<string, number>,
): Promise<string[]> {
  const found = rigCheckSizes(runsFolder);
  if (found.size === known.size && [...found].every(([run, bytes]) => known.get(run) === bytes)) {
    return [];
  }
  const rows: RigCheckRow[] = [];
  const said: string[] = [];
  for (const [run, bytes] of found) {
    const read = rigCheckOf(runsFolder, run);
    if (typeof read === "string") {
      said.push(read);
      continue;
    }
    const { rig, board, rigSha256, at, fit, findings, facts } = read.check;
    rows.push({
      run,
      id: read.id,
      rig,
      board,
      rigSha256,
      at,
      depth: facts.depth,
      fit: fit ? "fit" : "not fit",
      findings: findings.length,
      bytes,
    });
  }
  await putRigChecks(index, rows);
  return said;
}

/** @throws UsageError */
function namesIn(runsFolder: string): string[] {
  try {
    return readdirSync(runsFolder);
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(
      `Expected a folder of runs at "${runsFolder}", but ${why}. Name another with --runs.`,
    );
  }
}
