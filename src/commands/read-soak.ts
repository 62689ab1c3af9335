/** A soak read from its journal, as far as drift is judged from it. */
import type { RunEvent } from "../events/events.ts";
import type { UnitHistory } from "../events/unit-history.ts";
import { scanJournal } from "../journal/scan-journal.ts";
import { assessDrift } from "../verdict/drift/assess-drift.ts";
import { DriftFeed, driftBoardOf } from "../verdict/drift/drift-feed.ts";
import type { DriftReport } from "../verdict/drift/report.ts";

type Opened = Extract<RunEvent, { kind: "run-opened" }>;

export interface ReadSoak {
  readonly opened: Opened;
  readonly feed: DriftFeed;
}

/** @returns null where the run is no soak @throws JournalReadError */
export function readSoak(journal: string): ReadSoak | null {
  const feed = new DriftFeed();
  let opened: Opened | null = null;
  scanJournal(journal, ({ event }) => {
    if (event.kind === "run-opened") opened = event;
    feed.take(event);
  });
  const found = opened as Opened | null;
  return found?.mode === "soak" ? { opened: found, feed } : null;
}

/** What was known of the unit when the soak began; null for nothing. */
export function taughtBefore({ opened }: ReadSoak): UnitHistory | null {
  return opened.taught?.history ?? null;
}

/** The whole run, held against what is known of its unit. */
export function driftOf({ feed, opened }: ReadSoak, history: UnitHistory | null): DriftReport {
  return assessDrift(feed.sets, driftBoardOf(opened.plan, opened.unitSheet), {
    plannedHours: null,
    history,
  });
}
