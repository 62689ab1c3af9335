/** Chance that is the same for the same seed: what wanders slowly, and when rare things happen. */
import { hash32, hashName } from "../circuit/seeded-random.ts";

/** Periods of what wanders, hours: a quarter of an hour to most of a day, none a multiple of another. */
const PERIODS_H = [0.27, 0.43, 0.71, 1.13, 1.87, 3.1, 5.3, 8.9, 14.3] as const;
const UINT32 = 4294967296;

/** Above 0, at most 1. */
function chance(seed: number, name: string, index: number): number {
  return (hash32(seed, hashName(name), index) + 1) / UINT32;
}

/**
 * What wanders like a slow walk that does not run away: sines of many periods, the longer the larger,
 * with phases by chance. Mean 0 and standard deviation 1 over long times.
 */
export class Wander {
  readonly #waves: readonly {
    readonly perHour: number;
    readonly phase: number;
    readonly size: number;
  }[];

  constructor(seed: number, name: string) {
    // A walk's power falls with the square of the frequency; on periods in a geometric row, by the period.
    const power = PERIODS_H.reduce((sum, period) => sum + period / 2, 0);
    this.#waves = PERIODS_H.map((period, index) => ({
      perHour: (2 * Math.PI) / period,
      phase: 2 * Math.PI * chance(seed, name, index),
      size: Math.sqrt(period / power),
    }));
  }

  at(hours: number): number {
    let sum = 0;
    for (const { perHour, phase, size } of this.#waves) {
      sum += size * Math.sin(perHour * hours + phase);
    }
    return sum;
  }
}

/** Moments of chance at a mean rate, one after the other. */
export class RareMoments {
  readonly #seed: number;
  readonly #name: string;
  #count = 0;

  constructor(seed: number, name: string) {
    this.#seed = seed;
    this.#name = name;
  }

  /** A whole number from 0 up to `count`, each as likely. */
  below(count: number): number {
    this.#count += 1;
    return Math.floor(count * chance(this.#seed, this.#name, this.#count)) % count;
  }

  /** Seconds from one moment to the next. */
  nextAfterS(meanS: number): number {
    this.#count += 1;
    return -meanS * Math.log(chance(this.#seed, this.#name, this.#count));
  }
}
