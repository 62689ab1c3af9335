/** `holdfast page`: the page of an old run made anew, from its journal, to look at and to print. */
import { dirname, join } from "node:path";
import { JournalReadError } from "../journal/journal-fault.ts";
import { recordPage } from "../record/page/record-page.ts";
import { RecordReadError } from "../record/read-record.ts";
import { writeHtmlPage } from "../record/write-record.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { journalOfRun } from "./journal-of-run.ts";
import { recordedRun } from "./recorded-run.ts";
import { releasedRecordOf } from "./seal/released-record.ts";
import { UsageError } from "./usage-error.ts";

export interface RawPageOptions {
  readonly to?: string;
}

/**
 * @param path folder of a run, its journal, or a record beside the journal
 * @returns 0, or 2 when the journal or a released record cannot be read
 * @throws UsageError when there is no such run, or its page is sealed and no other place was named
 */
export function pageCommand(path: string, { to }: RawPageOptions, io: CheckIo): ExitStatus {
  const journal = journalOfRun(path);
  try {
    const { record, facts } = recordedRun(journal);
    const released = releasedRecordOf(journal, record);
    if (released !== null && to === undefined) {
      throw new UsageError(
        "Expected a run whose record is still a draft: this one is released and sealed, and its page with it. " +
          "Name another place for the page with --to.",
      );
    }
    const place = to ?? join(dirname(journal), "record.html");
    writeHtmlPage(place, recordPage(released ?? record, facts));
    io.out(`Page: ${place}`);
    return EXIT.pass;
  } catch (error) {
    if (!(error instanceof JournalReadError || error instanceof RecordReadError)) throw error;
    io.error(error.message);
    return EXIT.wrongUsage;
  }
}
