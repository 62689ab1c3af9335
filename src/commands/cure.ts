/** `holdfast cure`: whether soaks since a repair show that an intermittent is gone, or how long it still takes. */
import type { SoakOrder } from "../events/soak.ts";
import { foldEvent, initialSnapshot } from "../journal/fold.ts";
import { JournalReadError } from "../journal/journal-fault.ts";
import { scanJournal } from "../journal/scan-journal.ts";
import { separateErrors } from "../journal/separate-errors.ts";
import type { Counted } from "../measure/statistics/cure.ts";
import { cureState, cureWords } from "../verdict/cure-words.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { journalOfRun } from "./journal-of-run.ts";
import { UsageError } from "./usage-error.ts";

export interface AskedCure {
  /** The net that was wrong; all errors without it. */
  readonly net?: string;
  readonly sure: string;
  readonly json?: boolean;
}

/** What one soak counted, and what it must share with the others. */
interface CountedSoak extends Counted {
  readonly board: string;
  readonly unit: string | null;
  readonly cycle: SoakOrder["cycle"];
  readonly cyclingMs: number;
}

/**
 * @param before the run that showed the errors
 * @param after  runs since the repair
 * @returns 0 when a change is shown, 1 when it is not or the error came back, 2 when a run cannot be used
 * @throws UsageError
 */
export function cureCommand(
  before: string,
  after: readonly string[],
  { net, sure, json }: AskedCure,
  io: CheckIo,
): ExitStatus {
  const percent = Number(sure);
  if (!(percent >= 50 && percent < 100)) {
    throw new UsageError(`Expected --sure from 50 to below 100, got ${JSON.stringify(sure)}.`);
  }
  try {
    const was = countedIn(before, net);
    const since = after.map((path) => alike(was, countedIn(path, net), path));
    if (was.errors === 0) {
      throw new UsageError(
        `Expected errors${net === undefined ? "" : ` of ${net}`} in ${before} that a repair can be judged against, there are none.`,
      );
    }
    const total = since.reduce<Counted>(
      (sum, { errors, cycles }) => ({ errors: sum.errors + errors, cycles: sum.cycles + cycles }),
      { errors: 0, cycles: 0 },
    );
    const cure = cureState({ before: was, after: total }, 1 - percent / 100);
    const { state, chance, cyclesNeeded, level } = cure;
    if (json) {
      const counts = { errors: was.errors, cycles: was.cycles };
      io.out(JSON.stringify({ state, before: counts, after: total, chance, level, cyclesNeeded }));
    } else {
      for (const line of cureWords(cure, was.cyclingMs / was.cycles)) io.out(line);
    }
    return state === "shown" ? EXIT.pass : EXIT.notPass;
  } catch (error) {
    if (!(error instanceof JournalReadError)) throw error;
    io.error(error.message);
    return EXIT.wrongUsage;
  }
}

function countedIn(path: string, net: string | undefined): CountedSoak {
  let run = initialSnapshot();
  scanJournal(journalOfRun(path), (entry) => {
    run = foldEvent(run, entry);
  });
  const { soak, opened, plan } = run;
  if (soak === undefined || plan === null || soak.counts.cycles === 0) {
    throw new UsageError(`Expected a soak with cycles that were sealed in ${path}, there is none.`);
  }
  const { counts } = soak;
  return {
    errors: separateErrors(soak, net),
    cycles: counts.cycles,
    cyclingMs: counts.cyclingMs,
    board: plan.board.name,
    unit: opened?.unit ?? null,
    cycle: soak.order.cycle,
  };
}

/** Errors of one board say nothing of another, nor of another cycle. */
function alike(was: CountedSoak, now: CountedSoak, path: string): CountedSoak {
  const steps = ({ cycle }: CountedSoak) => JSON.stringify(cycle);
  const differs =
    (was.board !== now.board && "board") ||
    (was.unit !== now.unit && "unit") ||
    (steps(was) !== steps(now) && "cycle");
  if (differs) {
    throw new UsageError(
      `Expected the same board, unit and cycle before and after the repair, ${path} has another ${differs}.`,
    );
  }
  return now;
}
