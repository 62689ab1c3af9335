/** One run folder as the index is told of it. */
import { statSync } from "node:fs";
import { join } from "node:path";
import { JournalReadError } from "../../journal/journal-fault.ts";
import { scanJournal } from "../../journal/scan-journal.ts";
import { RunFactsFold } from "../../record/run-facts-fold.ts";
import type { RunSizes } from "../../store/run-index/known-files.ts";
import type { RunFacts, UnreadableRow } from "../../store/run-index/tables.ts";
import { recordPath } from "../seal/released-folders.ts";
import { readRecord } from "./read-record.ts";

const JOURNAL_NAME = "journal.ndjson";

export type ReadRun =
  | { readonly kind: "read"; readonly facts: RunFacts }
  | { readonly kind: "unreadable"; readonly row: UnreadableRow };

/** Null where there is no journal, and no run. */
export function runSizes(runsFolder: string, run: string): RunSizes | null {
  const journal = sizeOf(join(runsFolder, run, JOURNAL_NAME));
  return journal === null ? null : { journal, record: sizeOf(recordPath(join(runsFolder, run))) };
}

/** @param bytes size the journal had when it was found; one that grows meanwhile is found again */
export function readRun(runsFolder: string, run: string, bytes: number): ReadRun {
  const fold = new RunFactsFold();
  try {
    const end = scanJournal(join(runsFolder, run, JOURNAL_NAME), (entry) => fold.take(entry));
    const record = readRecord(runsFolder, run);
    return { kind: "read", facts: fold.facts({ run, bytes }, end, record) };
  } catch (error) {
    if (!(error instanceof JournalReadError || error instanceof RangeError)) throw error;
    return { kind: "unreadable", row: { run, bytes, why: error.message } };
  }
}

function sizeOf(path: string): number | null {
  const found = statSync(path, { throwIfNoEntry: false });
  return found?.isFile() === true ? found.size : null;
}
