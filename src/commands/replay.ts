/**
 * `holdfast replay`: fold a journal again and print what the run printed, with the same verdict and
 * the same exit status. Touches no port.
 */
import type { JournalEntry } from "../events/events.ts";
import { type FoldedRun, unprovedFalls, verdictAtEnd } from "../journal/account.ts";
import { foldEvent, initialSnapshot } from "../journal/fold.ts";
import { JournalReadError } from "../journal/journal-fault.ts";
import { readJournal, type SealedJournal } from "../journal/read-journal.ts";
import { plainLine } from "../screen/plain-lines.ts";
import { closedStatus } from "./closed-status.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";

export interface ReplayIo {
  /** One line of the run. */
  readonly out: (line: string) => void;
  /** One line about what is wrong with the journal. */
  readonly error: (line: string) => void;
}

/**
 * @param path a journal file
 * @returns the exit status of the run; 2 when the journal cannot be read or trusted; 3 when it was
 *   never closed, unless what is sealed fails the board
 */
export function replayCommand(path: string, io: ReplayIo): ExitStatus {
  const journal = readOrTell(path, io);
  if (journal === null) {
    return EXIT.wrongUsage;
  }
  let run = initialSnapshot();
  for (const entry of journal.entries) {
    run = foldEvent(run, entry);
    tell(entry, run, io);
  }
  if (journal.torn !== null) {
    const { line, bytes } = journal.torn;
    io.error(`Line ${line} is torn: its ${bytes} bytes were never sealed and were dropped.`);
  }
  return closedStatus(run) ?? tellUnclosed(run, io);
}

function readOrTell(path: string, io: ReplayIo): SealedJournal | null {
  try {
    return readJournal(path);
  } catch (error) {
    if (error instanceof JournalReadError) {
      io.error(error.message);
      return null;
    }
    throw error;
  }
}

function tell(entry: JournalEntry, run: FoldedRun, io: ReplayIo): void {
  const line = plainLine(entry, run);
  if (line !== null) {
    io.out(line);
  }
}

/** A run that was cut off: what its sealed lines say, and which rails nobody saw go off. */
function tellUnclosed(run: FoldedRun, io: ReplayIo): ExitStatus {
  const verdict = verdictAtEnd(run, null);
  const live = unprovedFalls(run);
  io.error(
    `The journal was never closed: the run was cut off. What is sealed gives: ${verdict}.` +
      (live.length === 0
        ? ""
        : ` Not proved off: ${live.join(", ")}. Treat as live until measured by hand.`),
  );
  return verdict === "fail" && live.length === 0 ? EXIT.notPass : EXIT.trouble;
}
