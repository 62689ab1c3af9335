/**
 * Codes of one channel against volts at its lead: by the marked divider and the reference, then by what
 * calibration found of both together.
 */
import type { PlannedChannel } from "../events/plan.ts";
import { CODES, type CodeRounding, codeForVolts, nodeVolts } from "./divider.ts";

const HALF_STEP = 0.5;

/** What of a channel its scale rests on. */
export type ScaledChannel = Pick<PlannedChannel, "divider" | "referenceV" | "calibration">;

/**
 * Volts at the lead for a mean code.
 *
 * @param codeMean mean of one or more codes, 0..1024
 * @param channel  with the reference as it is taken to be now
 * @throws RangeError as `nodeVolts` does
 */
export function channelVolts(codeMean: number, channel: ScaledChannel): number {
  const marked = nodeVolts(codeMean, channel.divider, channel.referenceV);
  const { calibration } = channel;
  return calibration === undefined ? marked : offsetNow(channel) + calibration.gain * marked;
}

/** What the converter's reference is by a source of known volts; a code stands for the middle of its step. */
export function referenceByKnown(knownV: number, codeMean: number): number {
  return (knownV * CODES) / (codeMean + HALF_STEP);
}

/** The calibrated offset, as the reference has carried it since. */
function offsetNow({ calibration, referenceV }: ScaledChannel): number {
  if (calibration === undefined) return 0;
  const { offsetV, referenceV: then = referenceV } = calibration;
  return (offsetV * referenceV) / then;
}

/**
 * Code at which the converter reads the given volts at the lead, clamped to 0..1023.
 *
 * @throws RangeError as `codeForVolts` does
 */
export function channelCode(
  volts: number,
  channel: ScaledChannel,
  rounding: CodeRounding = "nearest",
): number {
  const { calibration, divider, referenceV } = channel;
  const marked =
    calibration === undefined ? volts : (volts - offsetNow(channel)) / calibration.gain;
  return codeForVolts(marked, divider, referenceV, rounding);
}
