/** `holdfast tell`: an old run, or what was released of it, as a page of text or as a block to paste where one asks others. */
import { JournalReadError } from "../journal/journal-fault.ts";
import { scanJournal } from "../journal/scan-journal.ts";
import { pasteLines } from "../record/paste-lines.ts";
import { RecordReadError } from "../record/read-record.ts";
import { RecordFold } from "../record/record-fold.ts";
import { recordLines } from "../record/record-lines.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { journalOfRun } from "./journal-of-run.ts";
import { releasedRecordOf } from "./seal/released-record.ts";

export interface RawTellOptions {
  readonly paste?: boolean;
}

/**
 * @param path folder of a run, its journal, or a record beside the journal
 * @returns 0, or 2 when the journal or the record that was released of it cannot be read
 * @throws UsageError when there is no such file
 */
export function tellCommand(path: string, { paste }: RawTellOptions, io: CheckIo): ExitStatus {
  try {
    const fold = new RecordFold();
    const journal = journalOfRun(path);
    const { torn } = scanJournal(journal, (entry) => fold.take(entry));
    const own = fold.record(torn?.line ?? null);
    const record = releasedRecordOf(journal, own) ?? own;
    const lines = paste ? pasteLines(record) : recordLines(record);
    for (const line of lines) io.out(line);
    return EXIT.pass;
  } catch (error) {
    if (!(error instanceof JournalReadError || error instanceof RecordReadError)) throw error;
    io.error(error.message);
    return EXIT.wrongUsage;
  }
}
