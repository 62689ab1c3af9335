/** Mean and spread of what each net read at each level it was expected at, over the readings kept one by one. */
import type { JudgedReading } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";

export interface LevelMean {
  readonly meanV: number;
  /** Between the readings, with divisor n - 1; null for a single one. */
  readonly sdV: number | null;
  readonly count: number;
  /** Largest expanded uncertainty among them; null where it is not evaluated. */
  readonly expandedV: number | null;
}

interface Sums {
  readonly count: number;
  readonly meanV: number;
  readonly squares: number;
  readonly expandedV: number | null;
}

const NOTHING: Sums = { count: 0, meanV: 0, squares: 0, expandedV: null };

export class MeanFold {
  readonly #sums = new Map<string, Sums>();

  /** Readings without volts, and volts of another level than expected, are no part of a level's mean. */
  take(readings: readonly JudgedReading[]): void {
    for (const { channel, expected, class: found, volts, expandedV } of readings) {
      if (volts === null || found !== expected) continue;
      const key = keyOf(channel, expected);
      const before = this.#sums.get(key) ?? NOTHING;
      const count = before.count + 1;
      // Welford 1962, Technometrics 4, 419-420: a night's readings lose no digits of their spread.
      const meanV = before.meanV + (volts - before.meanV) / count;
      this.#sums.set(key, {
        count,
        meanV,
        squares: before.squares + (volts - before.meanV) * (volts - meanV),
        expandedV:
          expandedV === undefined ? before.expandedV : Math.max(before.expandedV ?? 0, expandedV),
      });
    }
  }

  /** @returns null when nothing of it was read */
  mean(channel: string, expected: LevelClass): LevelMean | null {
    const sums = this.#sums.get(keyOf(channel, expected));
    if (sums === undefined) return null;
    const { count, meanV, squares, expandedV } = sums;
    return { meanV, sdV: count < 2 ? null : Math.sqrt(squares / (count - 1)), count, expandedV };
  }
}

function keyOf(channel: string, expected: LevelClass): string {
  return `${channel} ${expected}`;
}
