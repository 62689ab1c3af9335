/**
 * What a count of successes says of a proportion: intervals that stay true at none and at all, where the
 * textbook p +- 2 s collapses to nothing. Newcombe (1998), Statistics in Medicine 17, 857-872.
 */
import { betaQuantile, normalQuantile } from "./quantiles.ts";

export interface Interval {
  readonly low: number;
  readonly high: number;
}

/**
 * Wilson's score interval (Newcombe's method 3): holds the proportion with the stated confidence on the
 * average over proportions, and is the narrower of the two.
 *
 * @throws RangeError unless successes and trials are counts, at least one trial, and no more successes
 */
export function wilsonInterval(successes: number, trials: number, confidence = 0.95): Interval {
  checkCounts(successes, trials);
  const z = normalQuantile((1 + confidence) / 2);
  const part = successes / trials;
  const over = (z * z) / trials;
  const middle = part + over / 2;
  const half = z * Math.sqrt((part * (1 - part) + over / 4) / trials);
  return {
    low: successes === 0 ? 0 : (middle - half) / (1 + over),
    high: successes === trials ? 1 : (middle + half) / (1 + over),
  };
}

/**
 * The exact interval of Clopper and Pearson (1934) (Newcombe's method 5): holds every proportion with at
 * least the stated confidence, and is wider for it. For a claim such as "at most 2.5 %".
 *
 * @throws RangeError as `wilsonInterval`
 */
export function exactInterval(successes: number, trials: number, confidence = 0.95): Interval {
  checkCounts(successes, trials);
  const tail = (1 - confidence) / 2;
  return {
    low: successes === 0 ? 0 : betaQuantile(tail, successes, trials - successes + 1),
    high: exactUpperLimit(successes, trials, 1 - tail),
  };
}

/**
 * The greatest proportion that is still in keeping with so few successes: one-sided, at the stated
 * confidence or more, by the same reasoning. None in n gives 1 - (1 - confidence)^(1/n).
 *
 * @throws RangeError as `wilsonInterval`
 */
export function exactUpperLimit(successes: number, trials: number, confidence = 0.95): number {
  checkCounts(successes, trials);
  if (successes === trials) return 1;
  if (successes === 0) return -Math.expm1(Math.log1p(-confidence) / trials);
  return betaQuantile(confidence, successes + 1, trials - successes);
}

function checkCounts(successes: number, trials: number): void {
  const areCounts = Number.isSafeInteger(successes) && Number.isSafeInteger(trials);
  if (!areCounts || trials < 1 || successes < 0 || successes > trials) {
    throw new RangeError(
      `A proportion is a count of successes out of one trial or more, got ${successes} of ${trials}.`,
    );
  }
}
