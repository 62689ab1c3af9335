/**
 * A slope that a few wild values cannot move: the median of the slopes of all pairs, with the interval that
 * Kendall's S gives it (Theil 1950; Sen 1968, JASA 63, 1379-1389; Gilbert 1987, Statistical Methods for
 * Environmental Pollution Monitoring, 16.5; Hollander and Wolfe, Nonparametric Statistical Methods, 9.3).
 *
 * The interval supposes what the Mann-Kendall test does: residuals that know nothing of each other.
 */
import { mannKendall } from "./mann-kendall.ts";
import { median, medianOfSorted } from "./median.ts";
import { normalQuantile } from "./quantiles.ts";

export interface Series {
  /** In rising order, no two alike. */
  readonly t: readonly number[];
  readonly y: readonly number[];
}

export interface TheilSen {
  /** Units of y by units of t. */
  readonly slope: number;
  /** Of the slope; an end is infinite where so few points leave it open. */
  readonly low: number;
  readonly high: number;
  /** Median of y less slope times median of t (Conover). */
  readonly intercept: number;
}

/** All pairs are held at once: 16 MB. Gather hourly means before there are more. */
const POINTS_MAX = 2000;

/**
 * @throws RangeError for fewer than two points or more than 2000, times that do not rise, or values that
 *   are not finite
 */
export function theilSen({ t, y }: Series, confidence = 0.95): TheilSen {
  const n = t.length;
  if (y.length !== n || n < 2 || n > POINTS_MAX) {
    throw new RangeError(
      `A slope needs 2 to ${POINTS_MAX} points with a time each, got ${n} times and ${y.length} values.`,
    );
  }
  t.forEach((time, at) => {
    const before = at === 0 ? Number.NEGATIVE_INFINITY : (t[at - 1] ?? Number.NaN);
    if (!(Number.isFinite(time) && time > before)) {
      throw new RangeError(`Times must rise, got ${time} after ${before}.`);
    }
  });
  const { variance } = mannKendall(y);
  const slopes = pairSlopes(t, y);
  const slope = medianOfSorted(slopes);
  const half = (normalQuantile((1 + confidence) / 2) * Math.sqrt(variance)) / 2;
  const middle = slopes.length / 2;
  return {
    slope,
    low: valueAtRank(slopes, middle - half),
    high: valueAtRank(slopes, middle + half + 1),
    intercept: median(y) - slope * median(t),
  };
}

function pairSlopes(t: readonly number[], y: readonly number[]): Float64Array {
  const slopes = new Float64Array((t.length * (t.length - 1)) / 2);
  let at = 0;
  for (const [later, time] of t.entries()) {
    const value = y[later] ?? Number.NaN;
    for (let before = 0; before < later; before += 1) {
      slopes[at] = (value - (y[before] ?? Number.NaN)) / (time - (t[before] ?? Number.NaN));
      at += 1;
    }
  }
  return slopes.sort();
}

/** Ranks count from 1 and need not be whole: between two values it lies between them. */
function valueAtRank(sorted: Float64Array, rank: number): number {
  if (rank < 1) return Number.NEGATIVE_INFINITY;
  if (rank > sorted.length) return Number.POSITIVE_INFINITY;
  const whole = Math.floor(rank);
  const below = sorted[whole - 1] ?? Number.NaN;
  const above = sorted[whole] ?? below;
  return below + (rank - whole) * (above - below);
}
