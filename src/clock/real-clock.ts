import { abortableDelay } from "./abortable-delay.ts";
import type { Clock } from "./clock.ts";
import { ClockError } from "./clock-error.ts";
import { formatWallTime } from "./wall-time.ts";

/** Node fires a longer timer at once (setTimeout keeps the delay in a signed 32-bit number). */
const LONGEST_TIMER_MS = 2 ** 31 - 1;

export interface RealClockOptions {
  /**
   * How many milliseconds of this clock pass in one real millisecond; default 1. A host that talks
   * to a bench served at pace 10 takes scale 10, so that both ends agree on durations.
   */
  readonly scale?: number;
  /** Monotonic source in real milliseconds; given by tests. */
  readonly monotonicMs?: () => number;
}

interface LongTimer {
  handle: NodeJS.Timeout | null;
}

/**
 * The machine's own clock.
 *
 * @throws ClockError "CLOCK_BAD_SCALE" unless scale is finite and above zero; nowMs throws
 *   "CLOCK_RAN_BACKWARDS" when the monotonic source does, since no duration can be trusted then
 */
export function createRealClock(options: RealClockOptions = {}): Clock {
  const scale = options.scale ?? 1;
  const monotonicMs = options.monotonicMs ?? (() => performance.now());
  if (!Number.isFinite(scale) || scale <= 0) {
    throw new ClockError("CLOCK_BAD_SCALE", `expected a clock scale above 0, got ${scale}`);
  }
  let lastMs = Number.NEGATIVE_INFINITY;

  const arm = (timer: LongTimer, callback: () => void, leftRealMs: number): void => {
    const partMs = Math.min(leftRealMs, LONGEST_TIMER_MS);
    timer.handle = setTimeout(() => {
      if (leftRealMs > partMs) {
        arm(timer, callback, leftRealMs - partMs);
      } else {
        timer.handle = null;
        callback();
      }
    }, partMs);
  };

  const clock: Clock = {
    nowMs() {
      const nowMs = monotonicMs();
      if (nowMs < lastMs) {
        throw new ClockError(
          "CLOCK_RAN_BACKWARDS",
          `expected the monotonic clock at or after ${lastMs} ms, got ${nowMs} ms`,
        );
      }
      lastMs = nowMs;
      return nowMs * scale;
    },
    wallTime() {
      // What a person reads in the morning is what their own clock says.
      const now = new Date();
      return formatWallTime(now.getTime(), -now.getTimezoneOffset());
    },
    setTimeout(callback, delayMs) {
      if (Number.isNaN(delayMs)) {
        throw new ClockError("CLOCK_BAD_DELAY", "expected a delay in ms, got NaN");
      }
      const timer: LongTimer = { handle: null };
      arm(timer, callback, Math.max(0, delayMs) / scale);
      return timer;
    },
    clearTimeout(id) {
      const timer = id as LongTimer | null | undefined;
      if (timer?.handle) {
        clearTimeout(timer.handle);
        timer.handle = null;
      }
    },
    delay: (delayMs, signal) => abortableDelay(clock, delayMs, signal),
  };
  return clock;
}
