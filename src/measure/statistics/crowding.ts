/**
 * Whether things that happened crowd together in some part of all there was, more than chance allows:
 * for each part the exact binomial chance of as many or more, had every one fallen anywhere in proportion.
 * Nothing is drawn at random, so the same data give the same answer.
 *
 * The least of many chances is small by chance too: multiply it by the number of all parts that were
 * looked at, here and elsewhere (Bonferroni), before it is believed.
 */
import { binomialAtLeast } from "./binomial.ts";

export interface Bin {
  /** How much there was of it to happen in, such as cycles; zero or more. */
  readonly exposure: number;
  /** How many times it happened there. */
  readonly count: number;
}

/** A run of neighbouring bins, both ends included; they count from 0. */
export interface Part {
  readonly from: number;
  readonly to: number;
}

export interface Crowd extends Part {
  readonly inside: number;
  readonly total: number;
  /** Of all exposure, 0 to 1. */
  readonly share: number;
  /** Chance of as many or more inside, for this part alone. */
  readonly chance: number;
}

/** Every run of neighbouring bins but the whole: for bins that have an order. */
export function runsOf(bins: number): Part[] {
  const parts: Part[] = [];
  for (let from = 0; from < bins; from += 1) {
    for (let to = from; to < bins; to += 1) {
      if (to - from + 1 < bins) parts.push({ from, to });
    }
  }
  return parts;
}

/** Every bin alone: for bins without an order. */
export function eachOf(bins: number): Part[] {
  return bins < 2 ? [] : Array.from({ length: bins }, (_, at) => ({ from: at, to: at }));
}

/**
 * The part that is least to be had by chance; of two alike the narrower.
 *
 * @returns null without parts, exposure or anything that happened
 * @throws RangeError for exposure or counts below zero, or something that happened where there was no
 *   exposure at all
 */
export function mostCrowded(bins: readonly Bin[], parts: readonly Part[]): Crowd | null {
  const wrong = bins.find(
    ({ exposure, count }) => !(exposure >= 0 && count >= 0) || (exposure === 0 && count > 0),
  );
  if (wrong !== undefined) {
    throw new RangeError(
      `A bin needs exposure where something happened, got ${wrong.count} in ${wrong.exposure}.`,
    );
  }
  const whole = sumOf(bins);
  if (!(whole.exposure > 0 && whole.count > 0)) return null;
  let best: Crowd | null = null;
  for (const part of parts) {
    const inside = sumOf(bins.slice(part.from, part.to + 1));
    const share = Math.min(1, inside.exposure / whole.exposure);
    const chance = binomialAtLeast(inside.count, whole.count, share);
    const crowd = { ...part, inside: inside.count, total: whole.count, share, chance };
    if (best === null || chance < best.chance || (chance === best.chance && share < best.share)) {
      best = crowd;
    }
  }
  return best;
}

function sumOf(bins: readonly Bin[]): Bin {
  return bins.reduce(
    (sum, { exposure, count }) => ({
      exposure: sum.exposure + exposure,
      count: sum.count + count,
    }),
    { exposure: 0, count: 0 },
  );
}
