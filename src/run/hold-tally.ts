/** What a hold has shown so far: how many sets, and the extremes of every net in them. */
import type { JudgedReading } from "../events/events.ts";

interface Extremes {
  readonly lowV: number;
  readonly highV: number;
  /** Largest expanded uncertainty; missing where it is not evaluated. */
  readonly expandedV?: number;
}

export class HoldTally {
  #readingSets = 0;
  readonly #extremes = new Map<string, Extremes>();

  get readingSets(): number {
    return this.#readingSets;
  }

  /** Take a set in which nothing failed. */
  take(readings: readonly JudgedReading[]): void {
    this.#readingSets += 1;
    for (const { channel, volts, expandedV } of readings) {
      if (volts === null) continue;
      const before = this.#extremes.get(channel) ?? { lowV: volts, highV: volts };
      const widest = Math.max(expandedV ?? 0, before.expandedV ?? 0);
      this.#extremes.set(channel, {
        lowV: Math.min(before.lowV, volts),
        highV: Math.max(before.highV, volts),
        ...(expandedV === undefined ? {} : { expandedV: widest }),
      });
    }
  }

  worst(): Record<string, Extremes> {
    return Object.fromEntries([...this.#extremes].map(([channel, both]) => [channel, { ...both }]));
  }
}
