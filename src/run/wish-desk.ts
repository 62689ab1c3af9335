/**
 * Where the wishes of a person arrive and wait for the state of the run that carries them out. A
 * state opens the desk with the rule for what it takes; with nobody behind it every wish is refused.
 */
import type { Clock } from "../clock/clock.ts";
import { type RunWish, STILL_BUSY, type WishAnswer } from "../events/run-wish.ts";

/** Says why a wish is refused here and now, or null when it is taken. */
export type WishRule = (wish: RunWish) => WishAnswer;

const CLOSED: WishRule = () =>
  "The run is not in a state that takes this; only stopping works at any time.";

/** A key that repeats by itself must not pile up work. */
const WAITING_MAX = 4;

export class WishDesk {
  #rule: WishRule = CLOSED;
  #waiting: RunWish[] = [];
  #arrived: (() => void) | null = null;

  /** Take wishes by this rule from now on; what still waited for another state is dropped. */
  open(rule: WishRule): void {
    this.#rule = rule;
    this.#waiting = [];
  }

  close(): void {
    this.open(CLOSED);
  }

  ask(wish: RunWish): WishAnswer {
    const refusal = this.#rule(wish);
    if (refusal !== null) return refusal;
    if (this.#waiting.length >= WAITING_MAX) return STILL_BUSY;
    this.#waiting.push(wish);
    this.#arrived?.();
    return null;
  }

  /** The next wish, or null when none came within `waitMs`. Rejects when the signal aborts. */
  async next(clock: Clock, waitMs: number, signal: AbortSignal): Promise<RunWish | null> {
    if (this.#waiting.length === 0) await this.#arrival(clock, waitMs, signal);
    signal.throwIfAborted();
    return this.#waiting.shift() ?? null;
  }

  async #arrival(clock: Clock, waitMs: number, signal: AbortSignal): Promise<void> {
    const woken = new AbortController();
    const stop = (): void => woken.abort();
    signal.addEventListener("abort", stop, { once: true });
    this.#arrived = stop;
    try {
      await clock.delay(waitMs, woken.signal);
    } catch (error) {
      if (!woken.signal.aborted) throw error;
    } finally {
      this.#arrived = null;
      signal.removeEventListener("abort", stop);
    }
  }
}
