/** How often each output has closed, and when that is written to memory that survives (PROTOCOL.md, section 9). */
import type { KeptMemory } from "./kept-memory.ts";

const REST_MS = 10_000;
const APART_MS = 600_000;

export class ClosingCounts {
  readonly counts: number[];
  readonly #memory: KeptMemory;
  #changed = false;
  #movedMs = 0;
  #writtenMs = 0;

  constructor(memory: KeptMemory) {
    this.#memory = memory;
    this.counts = [...memory.closings];
  }

  /** Outputs have gone from `before` to `now`. */
  moved(before: number, now: number): void {
    for (let bit = 0; bit < 8; bit += 1) {
      if ((now & ~before & (1 << bit)) === 0) continue;
      this.counts[bit] = (this.counts[bit] ?? 0) + 1;
      this.#changed = true;
    }
  }

  /** When they are written next with these outputs, if nothing moves any more. */
  dueMs(outputs: number): number {
    if (!this.#changed) return Number.POSITIVE_INFINITY;
    const apartMs = this.#writtenMs + APART_MS;
    return outputs === 0 ? Math.min(this.#movedMs + REST_MS, apartMs) : apartMs;
  }

  /** Some milliseconds have gone by, and what `dueMs` told may be due. */
  tick(nowMs: number, outputs: number): void {
    if (outputs !== 0) this.#movedMs = nowMs;
    if (nowMs < this.dueMs(outputs)) return;
    this.#changed = false;
    this.#writtenMs = nowMs;
    this.#memory.closings.splice(0, 8, ...this.counts);
  }
}
