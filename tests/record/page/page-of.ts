/** A page from events or timed events, as the program makes it from a journal. */
import type { JournalEntry, RunEvent } from "../../../src/events/events.ts";
import { PageFold } from "../../../src/record/page/page-facts.ts";
import { recordPage } from "../../../src/record/page/record-page.ts";
import { RecordFold } from "../../../src/record/record-fold.ts";
import type { TimedEvent } from "../../journal/soak-events.ts";
import { writeRun } from "../../journal/write-run.ts";

function pageOfEntries(entries: Iterable<JournalEntry>): string {
  const record = new RecordFold();
  const facts = new PageFold();
  for (const entry of entries) {
    record.take(entry);
    facts.take(entry);
  }
  return recordPage(record.record(), facts.facts(record.run));
}

export function pageOf(events: readonly RunEvent[]): string {
  return pageOfEntries(writeRun(events).entries);
}

export function pageOfTimed(events: Iterable<TimedEvent>): string {
  return pageOfEntries(entriesOf(events));
}

function* entriesOf(events: Iterable<TimedEvent>): Generator<JournalEntry> {
  let n = 0;
  for (const { ms, event } of events) {
    yield { n, ms, before: "", event };
    n += 1;
  }
}
