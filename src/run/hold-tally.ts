/** What a hold has shown so far: how many sets, and the extremes of every net in them. */
import type { JudgedReading } from "../events/events.ts";

export class HoldTally {
  #readingSets = 0;
  readonly #extremes = new Map<string, { lowV: number; highV: number }>();

  get readingSets(): number {
    return this.#readingSets;
  }

  /** Take a set in which everything was as expected. */
  take(readings: readonly JudgedReading[]): void {
    this.#readingSets += 1;
    for (const { channel, volts } of readings) {
      if (volts === null) continue;
      const { lowV, highV } = this.#extremes.get(channel) ?? { lowV: volts, highV: volts };
      this.#extremes.set(channel, { lowV: Math.min(lowV, volts), highV: Math.max(highV, volts) });
    }
  }

  worst(): Record<string, { lowV: number; highV: number }> {
    return Object.fromEntries([...this.#extremes].map(([channel, both]) => [channel, { ...both }]));
  }
}
