/** The calibration that counts for a plan, in the shape a controller keeps it in. */
import type { KeptCalibration } from "../bench/kept-calibration.ts";
import type { Plan } from "../events/plan.ts";
import { voltsPerCode } from "../measure/divider.ts";

/** @returns null for a plan without a calibration */
export function keptCalibrationOf({ calibration, channels }: Plan): KeptCalibration | null {
  if (calibration === undefined) return null;
  return {
    day: calibration.date.slice(0, "2026-05-01".length),
    channels: channels.flatMap(({ number, calibration: line, divider, referenceV }) =>
      line === undefined
        ? []
        : [
            {
              number,
              gain: line.gain,
              offsetSteps: line.offsetV / voltsPerCode(divider, referenceV),
            },
          ],
    ),
  };
}

/** What to say of channels that did not fit; null when all did. */
export function beyondWords(beyond: readonly number[]): string | null {
  if (beyond.length === 0) return null;
  const which = beyond.length === 1 ? "Channel" : "Channels";
  return `${which} ${beyond.join(", ")}: further off than the controller can keep (gain 3.27 %). The file has it, the controller's copy has not.`;
}
