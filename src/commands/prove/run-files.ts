/** What a run needs on disk: its folder and journal before, its record after. */
import { rmSync } from "node:fs";
import { join } from "node:path";
import type { Clock } from "../../clock/clock.ts";
import type { JournalFile } from "../../journal/journal-file.ts";
import { type Journal, openJournal } from "../../journal/open-journal.ts";
import { recordPage } from "../../record/page/record-page.ts";
import { writeHtmlPage, writeRecord, writeRecordPage } from "../../record/write-record.ts";
import type { Proof } from "../proof-folder.ts";
import { type RecordedRun, recordedRun } from "../recorded-run.ts";
import type { BrokenOffSoak } from "./broken-off-soak.ts";
import { keepMethodFiles } from "./method-files.ts";
import { makeRunFolder, runName } from "./run-folder.ts";

export interface RunFiles {
  readonly name: string;
  readonly folder: string;
  readonly journalPath: string;
  readonly journal: Journal;
  /** Reading of the clock from which the journal counts. */
  readonly openedMs: number;
  /** Of a run that goes on: between its last line and now, ms; null where no clock can tell. */
  readonly gapMs?: number | null;
}

/**
 * @param time the clock, and whether it goes on while a disk works
 * @throws JournalFault, UsageError when there is no place to write
 */
export function makeRunFiles(
  runs: string,
  proof: Proof,
  { clock, isReal }: { readonly clock: Clock; readonly isReal: boolean },
): RunFiles {
  const name = runName(proof.plan.board.name, clock.wallTime());
  const folder = makeRunFolder(runs, name);
  keepMethodFiles(folder, proof.files);
  const journalPath = join(folder, "journal.ndjson");
  const openedMs = clock.nowMs();
  const journal = openJournal({
    path: journalPath,
    clock,
    startMs: openedMs,
    sealsBeside: isReal,
  });
  return { name, folder, journalPath, journal, openedMs };
}

/**
 * The files of a run that goes on, its torn end cut off. Times go on by the wall clock where that moved
 * forward, else from where they stood.
 *
 * @throws JournalFault
 */
export function continueRunFiles(
  soak: BrokenOffSoak,
  { clock, isReal }: { readonly clock: Clock; readonly isReal: boolean },
  createFile?: (path: string) => JournalFile,
): RunFiles {
  const { name, folder, journalPath, sealed, lastWallMs } = soak;
  const sinceMs = Math.round(Date.parse(clock.wallTime()) - lastWallMs);
  const gapMs = Number.isFinite(sinceMs) && sinceMs >= 0 ? sinceMs : null;
  const openedMs = clock.nowMs() - (sealed.lastMs + (gapMs ?? 0));
  const journal = openJournal({
    path: journalPath,
    clock,
    startMs: openedMs,
    after: sealed,
    sealsBeside: isReal,
    ...(createFile === undefined ? {} : { createFile }),
  });
  return { name, folder, journalPath, journal, openedMs, gapMs };
}

/** Take files back that no run was written into. */
export function discardRunFiles({ folder, journal }: RunFiles): void {
  journal.close();
  rmSync(folder, { recursive: true, force: true });
}

/**
 * The record, for programs, as text and as a page to look at, made from the journal as it stands on
 * disk and from nothing else.
 *
 * @returns the path of the text, or null after saying why there is none
 */
export function keepRecord({ folder, journalPath }: RunFiles): string | null {
  const path = join(folder, "record.txt");
  const made = orSay("No record was made", (): RecordedRun => {
    const run = recordedRun(journalPath);
    writeRecord(join(folder, "record.json"), run.record);
    writeRecordPage(path, run.record);
    return run;
  });
  if (made === null) return null;
  // A page that fails takes nothing from the record: it can be made at any time.
  orSay("No page was made", () =>
    writeHtmlPage(join(folder, "record.html"), recordPage(made.record, made.facts)),
  );
  return path;
}

function orSay<T>(what: string, make: () => T): T | null {
  try {
    return make();
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    process.stderr.write(`${what}: ${why}\n`);
    return null;
  }
}
