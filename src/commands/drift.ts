/** `holdfast drift`: what a soak shows of each section, and the smallest drift it could have seen. */
import type { RunEvent } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import { JournalReadError } from "../journal/journal-fault.ts";
import { scanJournal } from "../journal/scan-journal.ts";
import { assessDrift } from "../verdict/drift/assess-drift.ts";
import { DriftFeed, driftBoardOf } from "../verdict/drift/drift-feed.ts";
import { driftLines } from "../verdict/drift/drift-words.ts";
import type { DriftReport } from "../verdict/drift/report.ts";
import type { UnitHistory } from "../verdict/drift/unit-history.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { journalOfRun } from "./journal-of-run.ts";
import { UsageError } from "./usage-error.ts";

export interface AskedDrift {
  readonly json?: boolean;
}

interface ReadSoak {
  readonly plan: Plan;
  readonly unit: string | null;
  readonly feed: DriftFeed;
}

/**
 * @param run     a soak
 * @param earlier soaks of the same unit before it, oldest first: what they teach makes it keener
 * @returns 0 without a finding, 1 with one or where the run cannot be judged, 2 when it cannot be used
 * @throws UsageError
 */
export function driftCommand(
  run: string,
  earlier: readonly string[],
  { json }: AskedDrift,
  io: CheckIo,
): ExitStatus {
  try {
    const soak = readSoak(run);
    let history: UnitHistory | null = null;
    for (const path of earlier) {
      history = judged(sameUnit(soak, readSoak(path), path), history).learned;
    }
    const report = judged(soak, history);
    if (json) {
      // What it taught is for the next run, and read from the journal again.
      const { learned: _learned, ...rest } = report;
      io.out(JSON.stringify(rest));
    } else for (const line of driftLines(report)) io.out(line);
    return report.judged && report.findings.length === 0 ? EXIT.pass : EXIT.notPass;
  } catch (error) {
    if (!(error instanceof JournalReadError)) throw error;
    io.error(error.message);
    return EXIT.wrongUsage;
  }
}

function judged({ feed, plan }: ReadSoak, history: UnitHistory | null): DriftReport {
  return assessDrift(feed.sets, driftBoardOf(plan), { plannedHours: null, history });
}

function readSoak(path: string): ReadSoak {
  const feed = new DriftFeed();
  let opened: Extract<RunEvent, { kind: "run-opened" }> | null = null;
  scanJournal(journalOfRun(path), ({ event }) => {
    if (event.kind === "run-opened") opened = event;
    feed.take(event);
  });
  const { plan, unit, mode } = opened ?? { plan: null, unit: null, mode: null };
  if (plan === null || mode !== "soak") {
    throw new UsageError(`Expected a soak in ${path}, there is none.`);
  }
  return { plan, unit, feed };
}

/** Another unit's tubes and parts go with its rails in another way. */
function sameUnit(soak: ReadSoak, before: ReadSoak, path: string): ReadSoak {
  if (before.unit !== soak.unit || before.plan.board.name !== soak.plan.board.name) {
    throw new UsageError(
      `Expected an earlier soak of unit ${soak.unit ?? "without a name"} of ${soak.plan.board.name}, ${path} is of ${before.unit ?? "a unit without a name"} of ${before.plan.board.name}.`,
    );
  }
  return before;
}
