import { ClockError } from "./clock-error.ts";

interface Timer {
  readonly dueMs: number;
  readonly callback: () => void;
}

/** Timers of a simulated clock: earliest first, and first set first fired where two are due together. */
export interface TimerQueue {
  readonly size: number;
  /** Infinity when no timer is set. */
  nextDueMs(): number;
  /** @throws ClockError "CLOCK_BAD_DELAY" for a delay that is not a number */
  add(callback: () => void, nowMs: number, delayMs: number): unknown;
  remove(id: unknown): void;
  /** Take the earliest timer due at or before nowMs out of the queue. */
  takeDue(nowMs: number): (() => void) | null;
  clear(): void;
}

export function createTimerQueue(): TimerQueue {
  // Sorted latest first, so that taking the earliest is a pop. A run has tens of timers at most.
  let timers: Timer[] = [];
  return {
    get size() {
      return timers.length;
    },
    nextDueMs: () => timers.at(-1)?.dueMs ?? Number.POSITIVE_INFINITY,
    add(callback, nowMs, delayMs) {
      if (Number.isNaN(delayMs)) {
        throw new ClockError("CLOCK_BAD_DELAY", "expected a delay in ms, got NaN");
      }
      const timer: Timer = { dueMs: nowMs + Math.max(0, delayMs), callback };
      let index = timers.length;
      while (index > 0 && (timers[index - 1]?.dueMs ?? 0) <= timer.dueMs) {
        index -= 1;
      }
      timers.splice(index, 0, timer);
      return timer;
    },
    remove(id) {
      const index = timers.indexOf(id as Timer);
      if (index >= 0) {
        timers.splice(index, 1);
      }
    },
    takeDue(nowMs) {
      const timer = timers.at(-1);
      if (timer === undefined || timer.dueMs > nowMs) {
        return null;
      }
      timers.pop();
      return timer.callback;
    },
    clear() {
      timers = [];
    },
  };
}
