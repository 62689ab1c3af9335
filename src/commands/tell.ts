/** `holdfast tell`: an old run as a page of text, or as a block to paste where one asks others. */
import { statSync } from "node:fs";
import { dirname, join } from "node:path";
import { JournalReadError } from "../journal/journal-fault.ts";
import { scanJournal } from "../journal/scan-journal.ts";
import { pasteLines } from "../record/paste-lines.ts";
import { RecordFold } from "../record/record-fold.ts";
import { recordLines } from "../record/record-lines.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { UsageError } from "./usage-error.ts";

export interface RawTellOptions {
  readonly paste?: boolean;
}

/**
 * @param path folder of a run, its journal, or a record beside the journal
 * @returns 0, or 2 when the journal cannot be read
 * @throws UsageError when there is no such file
 */
export function tellCommand(path: string, { paste }: RawTellOptions, io: CheckIo): ExitStatus {
  try {
    const fold = new RecordFold();
    const { torn } = scanJournal(journalOf(path), (entry) => fold.take(entry));
    const record = fold.record(torn?.line ?? null);
    for (const line of paste ? pasteLines(record) : recordLines(record)) io.out(line);
    return EXIT.pass;
  } catch (error) {
    if (!(error instanceof JournalReadError)) throw error;
    io.error(error.message);
    return EXIT.wrongUsage;
  }
}

/** The journal is the run: whatever of a run is named, that is what is told. */
function journalOf(path: string): string {
  const stat = statSync(path, { throwIfNoEntry: false });
  if (stat === undefined) {
    throw new UsageError(
      `Expected the folder or the journal of a run, got "${path}": there is none.`,
    );
  }
  if (stat.isDirectory()) return join(path, "journal.ndjson");
  return /record\.(json|txt)$/.test(path) ? join(dirname(path), "journal.ndjson") : path;
}
