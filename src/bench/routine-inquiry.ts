/** When a controller whose rails are scanned is asked, without any sign, whether something befell it unheard. */
import type { Clock } from "../clock/clock.ts";
import type { ControllerWatch } from "./controller-watch.ts";
import { ScanCount } from "./scan-count.ts";

/** An off of which every line was lost is known this much later. */
const OFF_EVERY_MS = 1000;
/** And so is a restart after which the count of scans happens to fit. */
const ALL_EVERY_MS = 10_000;

export class RoutineInquiry {
  readonly #clock: Clock;
  readonly #watch: ControllerWatch;
  readonly #count = new ScanCount();
  #offMs: number;
  #allMs: number;

  constructor(clock: Clock, watch: ControllerWatch) {
    this.#clock = clock;
    this.#watch = watch;
    this.#offMs = this.#allMs = clock.nowMs();
  }

  /** A scan is about to be asked for. @returns now */
  asking(): number {
    const nowMs = this.#clock.nowMs();
    if (nowMs - this.#allMs >= ALL_EVERY_MS) this.#all();
    else if (nowMs - this.#offMs >= OFF_EVERY_MS) {
      this.#offMs = nowMs;
      this.#watch.inquireOff();
    }
    return nowMs;
  }

  /**
   * @returns null where its number follows the one before; else what is done once it is known whose scan this was,
   *   and rejects with the BenchError of that question
   */
  heard(scan: number, askedMs: number): Promise<void> | null {
    if (this.#count.follows(scan, askedMs, this.#clock.nowMs())) return null;
    return this.#watch.askBoot().finally(() => this.#all());
  }

  #all(): void {
    this.#offMs = this.#allMs = this.#clock.nowMs();
    this.#watch.inquire();
  }
}
