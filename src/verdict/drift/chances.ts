/**
 * How the chance of a false alarm is shared out. Over all charts and tests of a night together it is
 * `CHANCE` at most (Bonferroni: it holds however they hang together), were tails normal. They are a little
 * heavier: 1000 simulated healthy nights, of which normal tails allow 1.3, saw 1. The figure `weak-tube` counts them.
 */
import { cusumLimitFor } from "../../measure/statistics/cusum-run-length.ts";
import { ewmaLimitSdFor } from "../../measure/statistics/ewma-run-length.ts";
import { normalQuantile } from "../../measure/statistics/quantiles.ts";

/** Of a false alarm in a healthy night. */
const CHANCE = 0.0013;

/**
 * What each question has of it; all low levels of a board, or all high ones, share theirs. High levels have the
 * heaviest tails (of those nights eight stood beyond 3.9 standard deviations) and say nothing of emission.
 */
const SHARES = { line: 0.75, ewma: 0.05, cusum: 0.08, high: 0.002, firstOn: 0.06 } as const;

/** Slow drift is looked for with a long memory, a change of a sigma or more with the sum. */
export const EWMA_LAMBDA = 0.2;
export const CUSUM_K = 0.5;

/** Standard deviations beyond which a value on the one side that is asked for is an alarm. */
export function limitSd(question: "line" | "high" | "firstOn", levels: number): number {
  return normalQuantile(1 - (CHANCE * SHARES[question]) / Math.max(1, levels));
}

export interface ChartLimits {
  /** L, standard deviations of the average itself. */
  readonly ewmaSd: number;
  /** h, sigma. */
  readonly cusumH: number;
}

/** Found by integral equations, tens of milliseconds each; a run asks for the same ones at every set. */
const known = new Map<string, ChartLimits>();
/** Runs of one process ask for few of them. */
const KNOWN_MAX = 64;

/**
 * @param levels charts of a kind
 * @param hours  values each will have by the end of the run
 */
export function chartLimits(levels: number, hours: number): ChartLimits {
  const key = `${levels} ${hours}`;
  const found = known.get(key);
  if (found !== undefined) return found;
  // Both functions ask for the chance of an alarm on either side; here one side counts.
  const both = (2 * CHANCE) / Math.max(1, levels);
  const limits = {
    ewmaSd: ewmaLimitSdFor({ lambda: EWMA_LAMBDA, points: hours, chance: both * SHARES.ewma }),
    cusumH: cusumLimitFor({ k: CUSUM_K, points: hours, chance: both * SHARES.cusum }),
  };
  if (known.size >= KNOWN_MAX) known.clear();
  known.set(key, limits);
  return limits;
}

/**
 * A run that is not over has been looked at before and will be again. The line's limit then is the last one's
 * raised by the root of what part of the information is in, which grows as time to the third: so the early
 * looks take next to nothing of the chance (O'Brien and Fleming 1979, Biometrics 35, 549-556).
 */
export function limitSoFar(limit: number, part: number): number {
  return part >= 1 ? limit : limit / Math.max(1e-3, part) ** 1.5;
}
