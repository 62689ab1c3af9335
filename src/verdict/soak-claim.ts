/**
 * What a soak allows to be claimed: bounds on how often and how soon it goes wrong, with the conditions
 * under which they hold, as data. The words are in `soak-claim-words`.
 */
import type { MtbfBounds, RateBounds, StoppedBy } from "../measure/statistics/error-rate.ts";
import { errorsByCycle, mtbfBounds } from "../measure/statistics/error-rate.ts";

/** What ended the soak, as far as a claim minds. */
type SoakStop =
  /** Its time or its count, fixed before. */
  | "planned end"
  /** An error itself: as many as were allowed, or one that stayed. */
  | "errors"
  /** A person, a trip, a lost link: not fixed before, and not the errors. */
  | "cut short";

/** What was counted; only what is sealed counts. */
export interface SoakCounted {
  /** Cycles in which every required reading was judged. */
  readonly cycles: number;
  /** Times it went wrong that have nothing to do with each other: wrong cycles on end are one. */
  readonly errors: number;
  /** Cycles without ground to judge; in no claim. */
  readonly unjudged: number;
  /** On power and cycling, hours. */
  readonly hours: number;
  readonly stop: SoakStop;
}

/** Under what the claim holds; said with it. */
export interface SoakConditions {
  /** Serial of the one unit it is of; null where none was given. */
  readonly unit: string | null;
  /** Steps of the cycle. */
  readonly steps: number;
  readonly powerCycles: number;
  /** Lowest and highest at the rig's sensor; null where it has none. */
  readonly celsius: readonly [low: number, high: number] | null;
  /** Of each rail, as read on the board's side. */
  readonly rails: readonly {
    readonly rail: string;
    readonly lowV: number;
    readonly highV: number;
  }[];
  /** Times at which the soak stood still and nothing was watched. */
  readonly gaps: number;
}

export interface SoakClaim {
  readonly confidence: number;
  readonly counted: SoakCounted;
  readonly conditions: SoakConditions;
  /** Errors by judged cycle. */
  readonly byCycle: RateBounds;
  /** Hours between errors. */
  readonly byHour: MtbfBounds;
}

/**
 * @returns null where nothing was judged: then there is nothing to claim
 * @throws RangeError for counts that are none
 */
export function claimOf(
  counted: SoakCounted,
  conditions: SoakConditions,
  confidence = 0.95,
): SoakClaim | null {
  const { cycles, errors, hours } = counted;
  if (cycles === 0 || hours === 0) return null;
  const stoppedBy: StoppedBy = counted.stop === "errors" ? "error" : "plan";
  return {
    confidence,
    counted,
    conditions,
    byCycle: errorsByCycle({ errors, cycles, stoppedBy }, confidence),
    byHour: mtbfBounds({ errors, hours, stoppedBy }, confidence),
  };
}
