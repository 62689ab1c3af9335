/** What is said of a run that no program stands behind: how it ended, or that nobody saw its end. */
import { statSync } from "node:fs";
import { join } from "node:path";
import { foldEvent, initialSnapshot } from "../../journal/fold.ts";
import { JournalReadError } from "../../journal/journal-fault.ts";
import { scanJournal } from "../../journal/scan-journal.ts";
import { SilenceLimit } from "../../journal/silence-limit.ts";
import type { RunSnapshot } from "../../journal/snapshot.ts";
import { listText } from "../../screen/doing-sentence.ts";
import { verdictSentence } from "../../screen/verdict-sentence.ts";
import { closedStatus } from "../closed-status.ts";
import { EXIT, type ExitStatus } from "../exit-status.ts";

export interface Nobody {
  readonly words: readonly string[];
  readonly status: ExitStatus;
}

/**
 * @param folder of the run
 * @param wall time now, ISO 8601; null where its program is known to be gone
 */
export function nobodyWords(folder: string, wall: string | null): Nobody {
  const journal = join(folder, "journal.ndjson");
  let run = initialSnapshot();
  const limit = new SilenceLimit();
  try {
    scanJournal(journal, (entry) => {
      run = foldEvent(run, entry);
      limit.take(entry);
    });
  } catch (error) {
    if (!(error instanceof JournalReadError)) throw error;
    return { words: [`holdfast: ${error.message}`], status: EXIT.wrongUsage };
  }
  const status = closedStatus(run);
  if (status !== null) return { words: endedWords(run, folder), status };
  const silentMs =
    wall === null ? Number.POSITIVE_INFINITY : Date.parse(wall) - statSync(journal).mtimeMs;
  const words = silentMs < limit.ms ? unreachedWords(folder) : goneWords(run, folder);
  return { words, status: EXIT.trouble };
}

function unreachedWords(folder: string): string[] {
  return [
    "No socket of this run answers, but its journal was written to a moment ago: its program has ended just now, or cannot be reached from here.",
    `To look on: holdfast follow ${folder}. Its process can be stopped by the signal that kill sends.`,
  ];
}

function endedWords(run: RunSnapshot, folder: string): string[] {
  const keptOn = run.rails.filter(({ fall }) => fall === "kept on").map(({ rail }) => rail);
  return [
    "This run has ended; there is nothing to attach to.",
    ...[verdictSentence(run)].filter((one) => one !== null),
    keptOn.length === 0
      ? `To read it: holdfast tell ${folder}`
      : `Still ON for the next run: ${listText(keptOn)}. To come back to that one: holdfast attach`,
  ];
}

function goneWords(run: RunSnapshot, folder: string): string[] {
  const on = run.rails.filter(({ on: isOn }) => isOn).map(({ rail }) => rail);
  const last = `its last word is ${folder}/journal.ndjson`;
  if (run.opened !== null && run.opened.seed !== null) {
    return [`The program of this run is gone; ${last}. Its bench was simulated.`];
  }
  return [
    `The program of this run is gone; ${last}, and nobody has seen its end.`,
    on.length === 0
      ? "By that no rail was on."
      : `DANGER: by that ${listText(on)} ${on.length === 1 ? "was" : "were"} on. A controller that hears nothing switches off by itself within a second, but nothing has proved that here.`,
    `Next: switch the supplies off, measure every rail by hand, then holdfast confirm-off ${run.plan?.rig.name ?? "RIG"} --by INITIALS --volts RAIL=VOLTS for each.`,
  ];
}
