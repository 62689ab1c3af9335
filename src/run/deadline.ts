/** A promise with a deadline on the run's own clock. */
import type { Clock } from "../clock/clock.ts";
import { atDeadline } from "../clock/deadline-clock.ts";
import { RunFault } from "./ending.ts";

export interface Deadline {
  readonly clock: Clock;
  readonly limitMs: number;
  /** What is waited for, for the message. */
  readonly what: string;
}

/**
 * Settle as `work` does, or reject when it takes longer than `limitMs`, not counting time in which this program did
 * not run. The work itself runs on: a promise cannot be called back.
 *
 * @throws RunFault "no-progress" at the deadline; whatever `work` rejects with
 */
export function within<Result>(deadline: Deadline, work: Promise<Result>): Promise<Result> {
  const { clock, limitMs, what } = deadline;
  return new Promise((resolve, reject) => {
    const missed = (): void => {
      reject(
        new RunFault(
          "no-progress",
          `Expected ${what} within ${limitMs} ms, nothing came. Outputs go off.`,
        ),
      );
    };
    const timer = atDeadline(clock, missed, limitMs);
    work.then(
      (result) => {
        timer.clear();
        resolve(result);
      },
      (error: unknown) => {
        timer.clear();
        reject(error);
      },
    );
  });
}
