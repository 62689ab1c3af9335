/**
 * Codes of one channel against volts at its lead: by the marked divider and the reference, then by what
 * calibration found of both together.
 */
import type { PlannedChannel } from "../events/plan.ts";
import { type CodeRounding, codeForVolts, nodeVolts } from "./divider.ts";

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
  return calibration === undefined ? marked : calibration.offsetV + calibration.gain * marked;
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
    calibration === undefined ? volts : (volts - calibration.offsetV) / calibration.gain;
  return codeForVolts(marked, divider, referenceV, rounding);
}
