/** The index brought to what lies in the runs folder: new and grown journals read, gone ones forgotten. */
import { readdirSync } from "node:fs";
import { rigCheckOf, rigCheckSizes } from "../../store/rig-checks.ts";
import { type KnownSizes, knownFiles, type RunSizes } from "../../store/run-index/known-files.ts";
import type { RunIndex } from "../../store/run-index/open-index.ts";
import { putNotes, putRigChecks } from "../../store/run-index/put-beside.ts";
import { changeIndex } from "../../store/run-index/put-run.ts";
import type { RigCheckRow } from "../../store/run-index/tables.ts";
import { UsageError } from "../usage-error.ts";
import { readNotes } from "./read-notes.ts";
import { type ReadRun, readRun, runSizes } from "./read-run.ts";

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
  const found = runsIn(runsFolder);
  const gone = [...known.runs.keys()].filter((run) => !found.has(run));
  const behind = [...found].filter(([run, sizes]) => !areAlike(known.runs.get(run), sizes));
  if (gone.length > 0) await changeIndex(index, { runs: [], unreadable: [], gone });
  let unreadable = 0;
  for (let at = 0; at < behind.length; at += RUNS_AT_ONCE) {
    const some = behind.slice(at, at + RUNS_AT_ONCE);
    unreadable += await putRuns(
      index,
      some.map(([run, { journal }]) => readRun(runsFolder, run, journal)),
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

function areAlike(known: KnownSizes | undefined, found: RunSizes): boolean {
  if (known === undefined || known.journal !== found.journal) return false;
  return known.record === "not looked at" || known.record === found.record;
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
function runsIn(runsFolder: string): Map<string, RunSizes> {
  const found = new Map<string, RunSizes>();
  for (const name of foldersIn(runsFolder)) {
    const sizes = runSizes(runsFolder, name);
    if (sizes !== null) found.set(name, sizes);
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
