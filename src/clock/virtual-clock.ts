import { abortableDelay } from "./abortable-delay.ts";
import type { Clock } from "./clock.ts";
import { ClockError } from "./clock-error.ts";
import { createTimerQueue } from "./timer-queue.ts";
import { formatWallTime } from "./wall-time.ts";

export interface VirtualClock extends Clock {
  /**
   * Let `ms` pass. Timers fire one by one in order, each at its own time, and everything a timer
   * set going (promises, next ticks) settles before the next one, so that a timer set by a timer
   * still falls into this stretch.
   *
   * @throws ClockError "CLOCK_BAD_DELAY" for negative or non-finite ms; a callback's own error
   */
  advance(ms: number): Promise<void>;
  readonly pendingTimers: number;
}

export interface VirtualClockOptions {
  /** Wall time at 0 ms, as Date.parse reads it. */
  readonly wallStart?: string;
}

/** Bench epoch: what a simulated clock shows when nobody gives a start. */
export const DEFAULT_WALL_START = "2026-01-01T09:00:00.000+00:00";

/** Resolves after every microtask and next tick now queued, and those they queue. */
function settle(): Promise<void> {
  return new Promise((resolve) => {
    setImmediate(resolve);
  });
}

/** A clock that stands still until it is advanced by hand; for tests and the modelled bench. */
export function createVirtualClock(options: VirtualClockOptions = {}): VirtualClock {
  const wallStartMs = Date.parse(options.wallStart ?? DEFAULT_WALL_START);
  const timers = createTimerQueue();
  let nowMs = 0;

  const clock: VirtualClock = {
    nowMs: () => nowMs,
    wallTime: () => formatWallTime(wallStartMs + nowMs),
    setTimeout: (callback, delayMs) => timers.add(callback, nowMs, delayMs),
    clearTimeout: (id) => timers.remove(id),
    delay: (delayMs, signal) => abortableDelay(clock, delayMs, signal),
    get pendingTimers() {
      return timers.size;
    },
    async advance(ms) {
      if (!Number.isFinite(ms) || ms < 0) {
        throw new ClockError("CLOCK_BAD_DELAY", `expected 0 ms or more to advance, got ${ms}`);
      }
      const targetMs = nowMs + ms;
      await settle();
      while (timers.nextDueMs() <= targetMs) {
        nowMs = Math.max(nowMs, timers.nextDueMs());
        timers.takeDue(nowMs)?.();
        await settle();
      }
      nowMs = targetMs;
    },
  };
  return clock;
}
