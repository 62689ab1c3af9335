/** One run folder as the index is told of it. */
import { statSync } from "node:fs";
import { join } from "node:path";
import { JournalReadError } from "../../journal/journal-fault.ts";
import { scanJournal } from "../../journal/scan-journal.ts";
import { RunFactsFold } from "../../record/run-facts-fold.ts";
import type { RunFacts, UnreadableRow } from "../../store/run-index/tables.ts";
import { readRecords } from "./read-records.ts";

const JOURNAL_NAME = "journal.ndjson";

export type ReadRun =
  | { readonly kind: "read"; readonly facts: RunFacts }
  | { readonly kind: "unreadable"; readonly row: UnreadableRow };

/** Null where there is no journal, and no run. */
export function journalBytes(runsFolder: string, run: string): number | null {
  const found = statSync(join(runsFolder, run, JOURNAL_NAME), { throwIfNoEntry: false });
  return found?.isFile() === true ? found.size : null;
}

/** @param bytes size the journal had when it was found; one that grows meanwhile is found again */
export function readRun(runsFolder: string, run: string, bytes: number): ReadRun {
  const fold = new RunFactsFold();
  try {
    const end = scanJournal(join(runsFolder, run, JOURNAL_NAME), (entry) => fold.take(entry));
    const records = readRecords(runsFolder, run);
    return { kind: "read", facts: fold.facts({ run, bytes }, end, records) };
  } catch (error) {
    if (!(error instanceof JournalReadError || error instanceof RangeError)) throw error;
    return { kind: "unreadable", row: { run, bytes, why: error.message } };
  }
}
