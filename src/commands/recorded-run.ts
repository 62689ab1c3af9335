/** A run read from its journal once, for record and page. */
import { scanJournal } from "../journal/scan-journal.ts";
import type { AcceptanceRecord } from "../record/acceptance-record.ts";
import { type PageFacts, PageFold } from "../record/page/page-facts.ts";
import { RecordFold } from "../record/record-fold.ts";

export interface RecordedRun {
  readonly record: AcceptanceRecord;
  readonly facts: PageFacts;
}

/** @throws JournalReadError */
export function recordedRun(journalPath: string): RecordedRun {
  const record = new RecordFold();
  const facts = new PageFold();
  const { torn } = scanJournal(journalPath, (entry) => {
    record.take(entry);
    facts.take(entry);
  });
  return { record: record.record(torn?.line ?? null), facts: facts.facts(record.run) };
}
