/**
 * How long a run must be so that it can show what it is to show: planned before, by exact chances
 * (success run; NIST/SEMATECH e-Handbook of Statistical Methods, 8.3.1.1).
 */
import { binomialAtMost } from "./binomial.ts";
import { chiSquareQuantile } from "./quantiles.ts";
import { leastWhole } from "./whole-search.ts";

/**
 * Cycles after which an error that comes at this rate has been seen at least once with this chance; as
 * many without an error show a lower rate with this confidence. One in 1000 with 95 %: 2995.
 *
 * @param rate   errors by cycle, 0 < rate < 1
 * @param chance 0 < chance < 1
 */
export function cyclesToSee(rate: number, chance = 0.95): number {
  checkParts({ rate, chance });
  // A quotient that is whole but for its last digits is whole: half the chance twice is a quarter.
  return Math.ceil((Math.log1p(-chance) / Math.log1p(-rate)) * (1 - 1e-12));
}

export interface Demonstration {
  /** The rate that is to be shown not to be reached, errors by cycle. */
  readonly rate: number;
  readonly confidence: number;
  /** Errors with which it still counts as shown. */
  readonly errorsAllowed: number;
}

/**
 * The fewest cycles after which no more than the allowed errors show, with this confidence, that the rate
 * is lower. Fixed before the run: to allow one more error after it was seen is another plan.
 */
export function cyclesToShow({ rate, confidence, errorsAllowed }: Demonstration): number {
  checkParts({ rate, chance: confidence });
  checkAllowed(errorsAllowed);
  return leastWhole(
    (cycles) => binomialAtMost(errorsAllowed, cycles, rate) <= 1 - confidence,
    errorsAllowed + 1,
  );
}

/**
 * Test time as a multiple of the mean time between errors that is to be shown.
 *
 * @param confidence    0 < confidence < 1
 * @param errorsAllowed a count
 */
export function testTimeFactor(confidence: number, errorsAllowed = 0): number {
  checkAllowed(errorsAllowed);
  return chiSquareQuantile(confidence, 2 * (errorsAllowed + 1)) / 2;
}

function checkParts(parts: Readonly<Record<string, number>>): void {
  for (const [name, value] of Object.entries(parts)) {
    if (!(value > 0 && value < 1)) {
      throw new RangeError(`A plan needs a ${name} between 0 and 1, got ${value}.`);
    }
  }
}

function checkAllowed(errors: number): void {
  if (!(Number.isSafeInteger(errors) && errors >= 0)) {
    throw new RangeError(`The errors allowed are a count, got ${errors}.`);
  }
}
