import type { Clock } from "./clock.ts";

/** A timer that comes later than this was kept from coming: the program did not run. */
const LATE_MS_MIN = 250;
/** Shorter timers are rests and rhythms, which nothing is judged by. */
const DEADLINE_MS_MIN = 1000;
/** Longest time that what arrived meanwhile is given to be taken. */
const CATCH_UP_MS_MAX = 2000;

/** A timer of a deadline; one object and one callback each, as a night has millions of them. */
class Deadline {
  readonly #clock: Clock;
  readonly #callback: () => void;
  readonly #delayMs: number;
  #dueMs = 0;
  #id: unknown = null;

  constructor(clock: Clock, callback: () => void, delayMs: number) {
    this.#clock = clock;
    this.#callback = callback;
    this.#delayMs = delayMs;
    this.#arm(delayMs);
  }

  clear(): void {
    this.#clock.clearTimeout(this.#id);
  }

  #arm(waitMs: number): void {
    this.#dueMs = this.#clock.nowMs() + waitMs;
    this.#id = this.#clock.setTimeout(this.#come, waitMs);
  }

  readonly #come = (): void => {
    const isLate = this.#clock.nowMs() - this.#dueMs > LATE_MS_MIN;
    if (isLate && this.#delayMs >= DEADLINE_MS_MIN) {
      this.#arm(Math.min(this.#delayMs, CATCH_UP_MS_MAX));
    } else this.#callback();
  };
}

/**
 * Call back at a deadline. A computer that was held up wakes to timers that are past before it has read what arrived
 * meanwhile; time in which the program did not run is no time that anybody took. A deadline that comes late is
 * therefore put off once more, shortly, and again for as long as it comes late.
 *
 * @returns what takes it back
 */
export function atDeadline(clock: Clock, callback: () => void, delayMs: number): { clear(): void } {
  return new Deadline(clock, callback, delayMs);
}

/** The same as timers of a clock, for what takes such. */
export function deadlineClock(clock: Clock): Pick<Clock, "setTimeout" | "clearTimeout"> {
  return {
    setTimeout: (callback, delayMs) => atDeadline(clock, callback, delayMs),
    clearTimeout(id) {
      if (id instanceof Deadline) id.clear();
    },
  };
}
