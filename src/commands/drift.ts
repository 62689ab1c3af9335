/** `holdfast drift`: what a soak shows of each section, and the smallest drift it could have seen. */
import { JournalReadError } from "../journal/journal-fault.ts";
import { driftLines } from "../verdict/drift/drift-words.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { journalOfRun } from "./journal-of-run.ts";
import { driftOf, type ReadSoak, readSoak, taughtBefore } from "./read-soak.ts";
import { UsageError } from "./usage-error.ts";

export interface AskedDrift {
  readonly json?: boolean;
}

/**
 * @param run     a soak
 * @param earlier soaks of the same unit before it, oldest first: what they teach makes it keener. None: what
 *   the soak itself was taught when it began
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
    const soak = soakIn(run);
    let history = taughtBefore(soak);
    for (const [at, path] of earlier.entries()) {
      const before = sameUnit(soak, soakIn(path), path);
      history = driftOf(before, at === 0 ? taughtBefore(before) : history).learned;
    }
    const report = driftOf(soak, history);
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

function soakIn(path: string): ReadSoak {
  const soak = readSoak(journalOfRun(path));
  if (soak === null) throw new UsageError(`Expected a soak in ${path}, there is none.`);
  return soak;
}

/** Another unit's tubes and parts go with its rails in another way. */
function sameUnit({ opened }: ReadSoak, before: ReadSoak, path: string): ReadSoak {
  const { unit, plan } = before.opened;
  if (unit !== opened.unit || plan.board.name !== opened.plan.board.name) {
    throw new UsageError(
      `Expected an earlier soak of unit ${opened.unit ?? "without a name"} of ${opened.plan.board.name}, ${path} is of ${unit ?? "a unit without a name"} of ${plan.board.name}.`,
    );
  }
  return before;
}
