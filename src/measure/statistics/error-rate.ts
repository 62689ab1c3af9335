/**
 * What a count of errors says of the rate at which they come: by cycles, exact binomial; by hours,
 * chi-square (NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.5.1).
 *
 * Both suppose a rate that stays as it is and errors that know nothing of each other. A run of wrong
 * cycles from one cause is one error here.
 */
import type { Interval } from "./proportion.ts";
import { exactInterval, exactUpperLimit } from "./proportion.ts";
import { chiSquareQuantile } from "./quantiles.ts";

/** What ended the counting: something fixed beforehand, or the last of the errors itself. */
export type StoppedBy = "plan" | "error";

export interface RateBounds {
  /** Errors by cycles or hours; 0 without errors, which is no claim. */
  readonly estimate: number;
  /** One-sided at the stated confidence or more: "at most". */
  readonly upper: number;
  /** Two-sided, each tail half of what is left. */
  readonly interval: Interval;
}

/**
 * Errors by cycle, Clopper and Pearson (1934). None in n cycles: at most 1 - (1 - confidence)^(1/n).
 *
 * Where the last error itself ended the counting, the cycles before it are what was counted, and the
 * errors among them are one fewer for "at most" (inverse sampling, Haldane 1945, Biometrika 33, 222-225).
 *
 * @throws RangeError unless both are counts, at least one cycle and no more errors than cycles
 */
export function errorsByCycle(
  { errors, cycles, stoppedBy = "plan" }: CycleCount,
  confidence = 0.95,
): RateBounds {
  const whole = exactInterval(errors, cycles, confidence);
  const upperAt = (level: number) =>
    stoppedBy === "error" && errors > 0
      ? cycles === 1
        ? 1
        : exactUpperLimit(errors - 1, cycles - 1, level)
      : exactUpperLimit(errors, cycles, level);
  return {
    estimate: errors / cycles,
    upper: upperAt(confidence),
    interval: { low: whole.low, high: upperAt((1 + confidence) / 2) },
  };
}

export interface CycleCount {
  readonly errors: number;
  readonly cycles: number;
  readonly stoppedBy?: StoppedBy;
}

export interface MtbfBounds {
  /** Hours between errors; null without errors. */
  readonly estimate: number | null;
  /** One-sided at the stated confidence: "at least". */
  readonly lower: number;
  /** Two-sided; the high end is infinite without errors. */
  readonly interval: Interval;
}

export interface HourCount {
  readonly errors: number;
  /** Hours of all boards together. */
  readonly hours: number;
  readonly stoppedBy?: StoppedBy;
}

/**
 * Mean time between errors. Counting that ended as planned has 2 (r + 1) degrees of freedom below and
 * 2 r above; counting that the last error ended has 2 r in both.
 *
 * @throws RangeError for errors that are no count, or hours that are not positive
 */
export function mtbfBounds(
  { errors, hours, stoppedBy = "plan" }: HourCount,
  confidence = 0.95,
): MtbfBounds {
  if (!(Number.isSafeInteger(errors) && errors >= 0 && hours > 0 && Number.isFinite(hours))) {
    throw new RangeError(
      `A time between errors needs a count and hours, got ${errors} in ${hours} h.`,
    );
  }
  const dofBelow = 2 * (stoppedBy === "error" && errors > 0 ? errors : errors + 1);
  const lowerAt = (level: number) => (2 * hours) / chiSquareQuantile(level, dofBelow);
  const tail = (1 - confidence) / 2;
  return {
    estimate: errors === 0 ? null : hours / errors,
    lower: lowerAt(confidence),
    interval: {
      low: lowerAt(1 - tail),
      high:
        errors === 0 ? Number.POSITIVE_INFINITY : (2 * hours) / chiSquareQuantile(tail, 2 * errors),
    },
  };
}
