/** How long the other side has been silent while something was asked of it. */
import type { Clock } from "../clock/clock.ts";

export class LinkSilence {
  readonly #clock: Clock;
  readonly #limitMs: number;
  readonly #onLimit: () => void;
  #sinceMs: number | null = null;
  #timer: unknown = null;

  constructor(clock: Clock, limitMs: number, onLimit: () => void) {
    this.#clock = clock;
    this.#limitMs = limitMs;
    this.#onLimit = onLimit;
  }

  /** A command went out. Only the first since the last good reply starts the time. */
  begin(): void {
    if (this.#sinceMs !== null) return;
    this.#sinceMs = this.#clock.nowMs();
    this.#timer = this.#clock.setTimeout(this.#onLimit, this.#limitMs);
  }

  end(): void {
    this.#sinceMs = null;
    if (this.#timer !== null) this.#clock.clearTimeout(this.#timer);
    this.#timer = null;
  }

  isOver(): boolean {
    return this.#sinceMs !== null && this.#clock.nowMs() - this.#sinceMs >= this.#limitMs;
  }
}
