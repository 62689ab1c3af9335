/** Wall time against monotonic time: a clock that is set, or a host that slept, shows as a step. */
import type { Clock } from "../clock/clock.ts";
import type { Scribe } from "./scribe.ts";

/** A clock that is steered moves by less than this between two looks. */
const STEP_MS_MIN = 2000;

export class WallWatch {
  readonly #clock: Clock;
  #offsetMs: number;

  constructor(clock: Clock) {
    this.#clock = clock;
    this.#offsetMs = this.#offset();
  }

  /** Write down how far it stepped since the last look, if it did. */
  tell(scribe: Pick<Scribe, "write">): void {
    const stepMs = this.stepMs();
    if (stepMs !== null) {
      scribe.write({ kind: "clock-step", wall: this.#clock.wallTime(), stepMs });
    }
  }

  /** How far the wall clock stepped since the last look, ms; null when it did not. */
  stepMs(): number | null {
    const offsetMs = this.#offset();
    const stepMs = Math.round(offsetMs - this.#offsetMs);
    this.#offsetMs = offsetMs;
    return Math.abs(stepMs) < STEP_MS_MIN ? null : stepMs;
  }

  #offset(): number {
    return Date.parse(this.#clock.wallTime()) - this.#clock.nowMs();
  }
}
