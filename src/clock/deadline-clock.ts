import type { Clock } from "./clock.ts";

/** A timer that comes later than this was kept from coming: the program did not run. */
const LATE_MS_MIN = 250;
/** Shorter timers are rests and rhythms, which nothing is judged by. */
const DEADLINE_MS_MIN = 1000;
/** Longest time that what arrived meanwhile is given to be taken. */
const CATCH_UP_MS_MAX = 2000;

interface Deadline {
  id: unknown;
}

/**
 * Timers for deadlines. A computer that was held up wakes to timers that are past before it has read what arrived
 * meanwhile; time in which the program did not run is no time that anybody took. A deadline that comes late is
 * therefore put off once more, shortly, and again for as long as it comes late.
 */
export function deadlineClock(clock: Clock): Pick<Clock, "setTimeout" | "clearTimeout"> {
  return {
    setTimeout(callback, delayMs) {
      const deadline: Deadline = { id: null };
      const arm = (waitMs: number): void => {
        const dueMs = clock.nowMs() + waitMs;
        deadline.id = clock.setTimeout(() => {
          const lateMs = clock.nowMs() - dueMs;
          if (delayMs >= DEADLINE_MS_MIN && lateMs > LATE_MS_MIN) {
            arm(Math.min(delayMs, CATCH_UP_MS_MAX));
          } else callback();
        }, waitMs);
      };
      arm(delayMs);
      return deadline;
    },
    clearTimeout(id) {
      if (id !== null && id !== undefined) clock.clearTimeout((id as Deadline).id);
    },
  };
}
