/** The verdict of a run from the count of its required results. */
import type { Verdict } from "../events/levels.ts";

/** How many required results of each kind a run has. */
export interface RunTally {
  readonly passed: number;
  /** Valid results inside their limit by less than the guard band, and beyond it by no more than it. */
  readonly conditionallyPassed?: number;
  readonly conditionallyFailed?: number;
  /** Valid results that failed, and nets whose section was still cold at time-out. */
  readonly failed: number;
  /**
   * Readings that gave none, and findings that void the run: a rail out of its window, a supply
   * refused, link lost, controller restarted, trip, a driven line off its level, a fall unproved.
   */
  readonly voided: number;
  /** Required results that were never taken. */
  readonly missing: number;
}

/**
 * Fail if any valid required result fails; else void if any is void; else not tested if any is
 * missing, or nothing was required; else the worst class that was found.
 *
 * @throws RangeError when a count is negative or not whole
 */
export function runVerdict(tally: RunTally): Verdict {
  for (const [name, count] of Object.entries(tally)) {
    if (!Number.isSafeInteger(count) || count < 0) {
      throw new RangeError(`Expected a whole count of ${name}, 0 or more, got ${count}.`);
    }
  }
  if (tally.failed > 0) {
    return "fail";
  }
  if (tally.voided > 0) {
    return "void";
  }
  const { conditionallyPassed = 0, conditionallyFailed = 0 } = tally;
  if (tally.missing > 0) return "not tested";
  if (conditionallyFailed > 0) return "conditional fail";
  if (conditionallyPassed > 0) return "conditional pass";
  return tally.passed === 0 ? "not tested" : "pass";
}

/** Worst first. A void hides what the board does, so it stands above not tested. */
const WORST_FIRST: readonly Verdict[] = [
  "fail",
  "void",
  "not tested",
  "conditional fail",
  "conditional pass",
  "pass",
];

/** The worse of two verdicts on the same run. */
export function worseVerdict(one: Verdict, other: Verdict): Verdict {
  return WORST_FIRST.indexOf(one) <= WORST_FIRST.indexOf(other) ? one : other;
}
