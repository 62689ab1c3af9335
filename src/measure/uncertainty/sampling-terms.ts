/** What a mean of a few converter codes may be off by: noise of the samples, and the converter's step. */
import type { RawSums } from "../reading.ts";
import { sdFromRange } from "../statistics/range-sd.ts";
import { normalTerm, rectangularTerm, type UncertaintyTerm } from "./term.ts";

/**
 * From this range on the samples are spread over steps enough to average the steps out; with less they
 * may all sit on one side of an edge, and a mean of theirs is no finer than a code. With Gaussian noise
 * of 0.5 steps the first harmonic of the step error is 0.2 % of a step.
 */
const DITHERED_RANGE = 2;
/** What is left of the step then, for noise that is not quite Gaussian. Steps. */
const DITHERED_STEPS = 0.1;
/** Most values a range is tabulated for. */
const TABULATED_MAX = 64;
/** One conversion tells nothing of its noise. Steps. */
const SINGLE_STEPS = 1;

/**
 * @param stepV     volts at the node of one code
 * @param humCodes  amplitude of a hum known of this lead, in codes; its swing is no noise
 */
export function samplingTerms(
  { count, min, max }: RawSums,
  stepV: number,
  humCodes: number,
): UncertaintyTerm[] {
  if (count < 2) {
    return [rectangularTerm("quantisation", SINGLE_STEPS * stepV, "a single conversion")];
  }
  const range = Math.max(0, max - min - 2 * humCodes);
  // Of more values than are tabulated the range is wider still, so this errs to the safe side.
  const { sd, dof } = sdFromRange(range, Math.min(count, TABULATED_MAX));
  const isDithered = range >= DITHERED_RANGE;
  const steps = isDithered ? DITHERED_STEPS : 0.5;
  return [
    normalTerm("noise", (sd / Math.sqrt(count)) * stepV, `range of ${count} samples`, dof),
    rectangularTerm(
      "quantisation",
      steps * stepV,
      isDithered ? "step, averaged out by noise" : "half a step, too little noise to average it",
    ),
  ];
}
