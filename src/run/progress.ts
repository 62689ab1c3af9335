/** Which work is under way and until when it must be done: what supervision judges a hang by. */
import type { Clock } from "../clock/clock.ts";

export class Progress {
  readonly #clock: Clock;
  #work = "starting";
  #dueMs = Number.POSITIVE_INFINITY;

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  begin(work: string, limitMs: number): void {
    this.#work = work;
    this.#dueMs = this.#clock.nowMs() + limitMs;
  }

  /** Time in which nothing of this program ran is no time that the work took. */
  forgive(ms: number): void {
    this.#dueMs += ms;
  }

  /** Name of the work that should have ended by now, or null. */
  overdue(graceMs: number): string | null {
    return this.#clock.nowMs() > this.#dueMs + graceMs ? this.#work : null;
  }
}
