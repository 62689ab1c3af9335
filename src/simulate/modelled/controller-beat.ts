/**
 * What a controller does without being asked: a tick every millisecond and a scan of the rail channels every three
 * (PROTOCOL.md, section 7). Where nothing can come of them they are taken in one stride: ticks until the next one at
 * which something is due, scans for as long as the fixture says that its rails stand still.
 */
import type { Beat } from "./agenda.ts";
import type { PowerSide } from "./power-side.ts";

const TICK_US = 1000;
export const SCAN_US = 3000;

interface BeatHooks {
  readonly strides: boolean;
  /** Until when the rails stand still, as it is known now. */
  readonly quietUntilUs: () => number;
  readonly codes: () => readonly number[];
  /** After every scan that was looked at. */
  readonly scanned: () => void;
}

export class ControllerBeat implements Beat {
  readonly #power: PowerSide;
  readonly #beganUs: number;
  readonly #hooks: BeatHooks;
  #ticks = 0;
  #scans = 0;
  #quietUntilUs = Number.NEGATIVE_INFINITY;

  constructor(power: PowerSide, beganUs: number, hooks: BeatHooks) {
    this.#power = power;
    this.#beganUs = beganUs;
    this.#hooks = hooks;
  }

  /** The rails may move: the next scan has to be looked at. */
  disturb(): void {
    this.#quietUntilUs = Number.NEGATIVE_INFINITY;
  }

  /** An output was switched: scans may be passed over for as long as it is known that no rail moves for it. */
  moved(nowUs: number): void {
    if (this.#quietUntilUs <= nowUs) return;
    this.#quietUntilUs = Math.min(this.#quietUntilUs, this.#hooks.quietUntilUs());
  }

  stride(limitUs: number, reach: (us: number) => void): boolean {
    const power = this.#power;
    const nextTickUs = this.#beganUs + TICK_US * (this.#ticks + 1);
    const nextScanUs = this.#beganUs + SCAN_US * (this.#scans + 1);
    if (Math.min(nextTickUs, nextScanUs) > limitUs) return false;
    // A scan comes before the tick of its moment, so that no scan of the next thing due is passed over.
    const dueUs = this.#beganUs + TICK_US * power.dueMs();
    const quiet = power.mayPassScans() ? this.#quietUntilUs : Number.NEGATIVE_INFINITY;
    const scansUs = Math.min(limitUs, dueUs - 1, quiet);
    const scans = Math.max(this.#scans, Math.floor((scansUs - this.#beganUs) / SCAN_US));
    const lookedUs = this.#beganUs + SCAN_US * (scans + 1);
    const ticksUs = Math.min(limitUs, dueUs - 1, lookedUs - 1);
    const ticks = Math.max(this.#ticks, Math.floor((ticksUs - this.#beganUs) / TICK_US));
    if (this.#hooks.strides && (scans > this.#scans || ticks > this.#ticks)) {
      reach(this.#beganUs + Math.max(SCAN_US * scans, TICK_US * ticks));
      power.passOver(ticks, scans - this.#scans);
      this.#ticks = ticks;
      this.#scans = scans;
    } else if (nextScanUs <= nextTickUs) {
      reach(nextScanUs);
      this.#scans += 1;
      const codes = this.#hooks.codes();
      this.#quietUntilUs = this.#hooks.quietUntilUs();
      power.scanned(codes);
      this.#hooks.scanned();
    } else {
      reach(nextTickUs);
      this.#ticks += 1;
      power.tick();
    }
    return true;
  }
}
