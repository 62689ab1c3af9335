/** Events into a journal, through the real writer, on a clock that steps by itself. */
import type { Clock } from "../../src/clock/clock.ts";
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import { memoryFile } from "./memory-file.ts";

/** A clock of which the journal needs only `nowMs`; each reading is 250 ms after the last. */
export function steppingClock(startMs = 0): Clock {
  let nowMs = startMs;
  const refuse = () => {
    throw new Error("A journal waits for nothing.");
  };
  return {
    nowMs: () => {
      nowMs += 250;
      return nowMs;
    },
    wallTime: () => "2026-05-02T10:00:00.000+00:00",
    setTimeout: refuse,
    clearTimeout: refuse,
    delay: refuse,
  };
}

export interface WrittenRun {
  readonly bytes: Buffer;
  readonly entries: readonly JournalEntry[];
}

/** Write events, sealing after every `sealEvery`th. */
export function writeRun(events: readonly RunEvent[], sealEvery = 3): WrittenRun {
  const file = memoryFile();
  const journal = openJournal({
    path: "run.ndjson",
    clock: steppingClock(),
    startMs: 0,
    createFile: file.create,
  });
  const entries: JournalEntry[] = [];
  journal.subscribe((entry) => entries.push(entry));
  for (const [index, event] of events.entries()) {
    journal.append(event);
    if (index % sealEvery === 0) journal.seal();
  }
  journal.seal();
  return { bytes: file.bytes(), entries };
}
