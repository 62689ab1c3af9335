/** The channels of a rig before a calibration: what is calibrated, and by what they were read so far. */
import { formatWallTime } from "../../clock/wall-time.ts";
import type { PlannedChannel } from "../../events/plan.ts";
import { applyCalibration } from "../../plan/apply-calibration.ts";
import { type CalibrationGroup, calibrationGroups } from "../../plan/calibration-groups.ts";
import type { Proof } from "../proof-folder.ts";
import { UsageError } from "../usage-error.ts";

/** By marked values alone. */
export function bareChannels({ plan }: Proof): PlannedChannel[] {
  return plan.channels.map(({ calibration: _, ...bare }) => bare);
}

/** As found is what the newest calibration said, also on the day after it has expired. */
export function channelsBefore(proof: Proof): readonly PlannedChannel[] {
  const { rig, calibration } = proof;
  const channels = bareChannels(proof);
  if (calibration === null) return channels;
  const today = formatWallTime(Date.parse(calibration.date)).slice(0, "2026-05-01".length);
  const found = { value: calibration, sha256: "" };
  return applyCalibration({ channels, rig }, { calibration: found, today }).channels;
}

/** @throws UsageError naming a channel that cannot be calibrated */
export function groupsAsked(
  channels: readonly PlannedChannel[],
  names: readonly string[] | null,
): CalibrationGroup[] {
  try {
    return calibrationGroups(channels, names);
  } catch (error) {
    if (error instanceof RangeError) throw new UsageError(`--channels: ${error.message}`);
    throw error;
  }
}
