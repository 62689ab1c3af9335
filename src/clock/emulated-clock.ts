import { abortableDelay } from "./abortable-delay.ts";
import type { Clock } from "./clock.ts";
import { ClockError } from "./clock-error.ts";
import { createRealClock } from "./real-clock.ts";
import { createTimerQueue } from "./timer-queue.ts";
import { DEFAULT_WALL_START } from "./virtual-clock.ts";
import { formatWallTime } from "./wall-time.ts";

/** What owns emulated time: a controller whose cycles are the time. */
export interface EmulatedDriver {
  nowMs(): number;
  /**
   * Run until `untilMs`, or stop earlier because there is something for the host.
   * Must leave nowMs() beyond where it was, or have something to deliver.
   */
  advance(untilMs: number): void;
  /** Hand the host what the controller sent since the last time; false when there was nothing. */
  deliver(): boolean;
  /** Whether the controller is connected, so that time must run even with no host timer set. */
  isConnected(): boolean;
  /** Longest stretch that leaves the event loop prompt, emulated ms; SLICE_MS when missing. */
  readonly sliceMs?: number;
}

export interface EmulatedClock extends Clock {
  /**
   * Stand still while the host waits for something that is not on this clock (a dynamic import, a
   * file read by promise). Returns the way to let time run again.
   */
  hold(): () => void;
  /** Look again whether time must run, and soon: a port opened, or bytes came from outside. */
  wake(): void;
  /** From now on at most this many emulated ms per real ms; null as fast as it can. */
  setPace(ratio: number | null): void;
  /** Stop for good: no timer fires any more and nothing keeps the process alive. */
  dispose(): void;
  readonly pendingTimers: number;
}

export interface EmulatedClockOptions {
  /** Wall time at 0 ms of emulated time. */
  readonly wallStart?: string;
  /** Emulated ms per real ms at most; null runs as fast as it can. */
  readonly paceRatio?: number | null;
}

/**
 * Longest stretch without giving the event loop a turn, emulated ms. At the slowest ratio seen for
 * firmware that never sleeps (4) this is 5 ms of real time, so keys and signals stay prompt.
 */
const SLICE_MS = 20;

/** How long a paced loop looks without pause after something came from outside, real ms. */
const HURRY_REAL_MS = 2;

/** A loop further behind its pace than this, real ms, was stopped; it does not rush to catch up. */
const LATE_MS_MAX = 10;

/**
 * Time driven by the emulated controller. It moves only in turns of the event loop that nothing
 * else has claimed: each turn advances to the earlier of the next host timer and the next line from
 * the controller, delivers it or fires one timer, and returns, so that all promises and next ticks
 * settle before time moves again. A synchronous disk wait takes no emulated time at all.
 */
export function createEmulatedClock(
  driver: EmulatedDriver,
  options: EmulatedClockOptions = {},
): EmulatedClock {
  const wallStartMs = Date.parse(options.wallStart ?? DEFAULT_WALL_START);
  if (Number.isNaN(wallStartMs)) {
    throw new ClockError("CLOCK_BAD_DELAY", `expected a wall time, got "${options.wallStart}"`);
  }
  let pace = createPace(options.paceRatio ?? null, driver);
  const timers = createTimerQueue();
  let holds = 0;
  let disposed = false;
  let scheduled: { cancel(): void } | null = null;

  const mustRun = (): boolean =>
    !disposed && holds === 0 && (timers.size > 0 || driver.isConnected());

  const schedule = (): void => {
    if (scheduled === null && mustRun()) {
      scheduled = pace.next(turn);
    }
  };

  function turn(): void {
    scheduled = null;
    if (!mustRun()) {
      return;
    }
    try {
      const nowMs = driver.nowMs();
      const untilMs = Math.min(timers.nextDueMs(), nowMs + pace.sliceMs());
      if (untilMs > nowMs) {
        driver.advance(untilMs);
      }
      // A reply that comes at the very moment of its own deadline is settled before the deadline.
      if (!driver.deliver()) {
        timers.takeDue(driver.nowMs())?.();
      }
    } finally {
      // Also after a throw: what leads to safe outputs still needs time to run.
      schedule();
    }
  }

  const clock: EmulatedClock = {
    nowMs: () => driver.nowMs(),
    wallTime: () => formatWallTime(wallStartMs + driver.nowMs()),
    setTimeout(callback, delayMs) {
      const id = timers.add(callback, driver.nowMs(), delayMs);
      schedule();
      return id;
    },
    clearTimeout: (id) => timers.remove(id),
    delay: (delayMs, signal) => abortableDelay(clock, delayMs, signal),
    get pendingTimers() {
      return timers.size;
    },
    hold() {
      let held = true;
      holds += 1;
      return () => {
        if (held) {
          held = false;
          holds -= 1;
          schedule();
        }
      };
    },
    wake() {
      if (pace.isPrompt && scheduled !== null) return;
      pace.hurry();
      scheduled?.cancel();
      scheduled = null;
      schedule();
    },
    setPace(ratio) {
      scheduled?.cancel();
      scheduled = null;
      pace = createPace(ratio, driver);
      schedule();
    },
    dispose() {
      disposed = true;
      timers.clear();
      scheduled?.cancel();
      scheduled = null;
    },
  };
  return clock;
}

interface Pace {
  /** Queue the next turn of the loop. */
  next(turn: () => void): { cancel(): void };
  /** Emulated ms that the next turn may take. */
  sliceMs(): number;
  /** The next turn is never put off, so that there is no hurrying. */
  readonly isPrompt: boolean;
  /** Something came from outside: look often for a while. */
  hurry(): void;
}

/** Turns that one round of the event loop takes at most before it looks for keys, signals and files again. */
const ROUND_TURNS = 16;

interface Round {
  readonly beganMs: number;
  /** Immediates of it that have not come yet. */
  left: number;
  turn: (() => void) | null;
}

/**
 * Turns one after another, several in one round of the event loop while they take no more time together than a
 * single one may. Between two immediates Node settles all promises and next ticks, so that time stands as still
 * between two turns of a round as between two rounds.
 */
class TurnRounds {
  readonly #nowMs: () => number;
  readonly #sliceMs: number;
  #round: Round | null = null;

  constructor(nowMs: () => number, sliceMs: number) {
    this.#nowMs = nowMs;
    this.#sliceMs = sliceMs;
  }

  /** Queue the one next turn. */
  next(turn: () => void): { cancel(): void } {
    const round = this.#open();
    round.turn = turn;
    return {
      cancel() {
        if (round.turn === turn) round.turn = null;
      },
    };
  }

  #open(): Round {
    const nowMs = this.#nowMs();
    const open = this.#round;
    if (open !== null && open.left > 0 && nowMs < open.beganMs + this.#sliceMs) return open;
    const round: Round = { beganMs: nowMs, left: ROUND_TURNS, turn: null };
    this.#round = round;
    for (let queued = 0; queued < ROUND_TURNS; queued += 1) setImmediate(come, round);
    return round;
  }
}

function come(round: Round): void {
  round.left -= 1;
  const { turn } = round;
  round.turn = null;
  turn?.();
}

/** A turn by itself, in a round of its own. */
function alone(turn: () => void): { cancel(): void } {
  const immediate = setImmediate(turn);
  return { cancel: () => clearImmediate(immediate) };
}

function createPace(ratio: number | null, driver: EmulatedDriver): Pace {
  if (ratio === null) {
    const sliceMs = driver.sliceMs ?? SLICE_MS;
    const rounds = new TurnRounds(() => driver.nowMs(), sliceMs);
    return {
      next: (turn) => rounds.next(turn),
      isPrompt: true,
      sliceMs: () => sliceMs,
      hurry: () => undefined,
    };
  }
  // A real clock scaled by the ratio counts in emulated ms; the anchor lines the two up.
  const real = createRealClock({ scale: ratio });
  let anchorMs = real.nowMs() - driver.nowMs();
  let hurryUntilMs = Number.NEGATIVE_INFINITY;
  /** Emulated ms by which the controller is behind its pace. */
  const lagMs = (): number => {
    const targetMs = real.nowMs() - anchorMs;
    if (targetMs - driver.nowMs() > LATE_MS_MAX * ratio) {
      anchorMs = real.nowMs() - driver.nowMs();
      return 0;
    }
    return targetMs - driver.nowMs();
  };
  return {
    next(turn) {
      if (lagMs() > ratio || real.nowMs() < hurryUntilMs) {
        return alone(turn);
      }
      const id = real.setTimeout(turn, ratio);
      return { cancel: () => real.clearTimeout(id) };
    },
    isPrompt: false,
    sliceMs: () => Math.max(0, Math.min(SLICE_MS, lagMs())),
    hurry() {
      hurryUntilMs = real.nowMs() + HURRY_REAL_MS * ratio;
    },
  };
}
