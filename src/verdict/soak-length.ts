/** How long a soak must be for what it is to see or to show, in numbers and in sentences. */
import { cyclesToSee, cyclesToShow } from "../measure/statistics/demonstration.ts";
import { partText } from "./chance-words.ts";
import { timeNeeded } from "./time-needed.ts";

export interface SoakLengthWish {
  /** An error that comes once in so many cycles; above 1. */
  readonly oneIn: number;
  /** Chance of seeing it, and confidence in its absence where it was not seen. */
  readonly chance: number;
  /** Errors with which the run still shows what it is to show. */
  readonly errorsAllowed: number;
  /** From the start of one cycle to the start of the next, ms. */
  readonly cycleMs: number;
}

export interface SoakLength extends SoakLengthWish {
  readonly cycles: number;
  /** On power and warm, without warm-up and rests. */
  readonly ms: number;
}

/** @throws RangeError for a wish that is none */
export function soakLength(wish: SoakLengthWish): SoakLength {
  const { oneIn, chance, errorsAllowed, cycleMs } = wish;
  if (!(oneIn > 1 && cycleMs >= 0)) {
    throw new RangeError(
      `A soak looks for an error in more than one cycle, of no less than 0 ms; got one in ${oneIn} and ${cycleMs} ms.`,
    );
  }
  const rate = 1 / oneIn;
  const cycles =
    errorsAllowed === 0
      ? cyclesToSee(rate, chance)
      : cyclesToShow({ rate, confidence: chance, errorsAllowed });
  return { ...wish, cycles, ms: cycles * cycleMs };
}

export function soakLengthWords({
  oneIn,
  chance,
  errorsAllowed,
  cycles,
  ms,
}: SoakLength): string[] {
  const time = ms > 0 ? `, ${timeNeeded(ms)}` : "";
  const level = partText(chance);
  if (errorsAllowed > 0) {
    return [
      `To show fewer than one error in ${oneIn} cycles with ${level} confidence and up to ${errorsAllowed} seen, run ${cycles} cycles${time}.`,
      "The number allowed is fixed before the run: to allow one more once it was seen is another test.",
    ];
  }
  return [
    `To see a one-in-${oneIn} error with ${level} chance run ${cycles} cycles${time}.`,
    `As many without an error show, with ${level} confidence, that it comes less often; not that it never comes.`,
  ];
}
