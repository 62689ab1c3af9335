/** A calibration put where it counts: its own file, never an older one's, and a copy in the controller. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { ControllerBench } from "../../bench/controller-bench.ts";
import type { Calibration, CalibrationMeter } from "../../formats/calibration.schema.ts";
import { calibrationText } from "../../formats/calibration-text.ts";
import { applyCalibration } from "../../plan/apply-calibration.ts";
import type { CheckIo } from "../check.ts";
import { beyondWords, keptCalibrationOf } from "../kept-calibration-of.ts";
import { CALIBRATIONS_FOLDER, calibrationFileName } from "../newest-calibration.ts";
import type { Proof } from "../proof-folder.ts";
import { UsageError } from "../usage-error.ts";
import { bareChannels } from "./known-before.ts";

/** A meter is checked every year, common practice. */
const METER_CHECK_DAYS = 366;
const DAY_MS = 86_400_000;

/**
 * @returns its path
 * @throws UsageError when it cannot be written, or a file is there already
 */
export function writeCalibration(into: string, value: Calibration): string {
  const folder = join(into, CALIBRATIONS_FOLDER);
  const path = join(folder, calibrationFileName(value.date));
  try {
    mkdirSync(folder, { recursive: true });
    writeFileSync(path, calibrationText(value), { flag: "wx", flush: true });
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected a new file at ${path}, but ${why}.`);
  }
  return path;
}

/** @throws BenchError */
export async function copyIntoController(
  controller: Pick<ControllerBench, "keepRig">,
  value: Calibration,
  given: { readonly proof: Proof; readonly today: string; readonly io: CheckIo },
): Promise<void> {
  const { proof, today, io } = given;
  const { plan, rig } = proof;
  const calibration = { value, sha256: "" };
  const channels = bareChannels(proof);
  const applied = applyCalibration({ channels, rig }, { calibration, today });
  const { planned } = applied;
  const kept = keptCalibrationOf({
    ...plan,
    channels: applied.channels,
    calibration: planned ?? undefined,
  });
  const words = beyondWords(await controller.keepRig(value.rig, kept));
  io.out(`Kept in the controller: the calibration of ${kept?.day ?? "no day"}.`);
  if (words !== null) io.error(words);
}

/** What is to be said of a meter whose own check is old. */
export function meterWarnings({ checked }: CalibrationMeter, today: string): string[] {
  const days = (Date.parse(today) - Date.parse(checked)) / DAY_MS;
  return days > METER_CHECK_DAYS
    ? [`the meter's own check is of ${checked}, more than a year ago: have it checked.`]
    : [];
}
