/** What a controller keeps of its calibration against the file that counts: two that differ are never passed over. */
import type { StoredRig } from "../../bench/controller-memory.ts";
import type { Plan } from "../../events/plan.ts";

/** @returns sentences for the journal; none where both agree or the controller keeps nothing */
export function controllerRemarks(stored: StoredRig, { calibration }: Plan): string[] {
  if (stored.state !== "kept" || stored.calibratedOn === null) return [];
  const inFile = calibration?.date.slice(0, "2026-05-01".length) ?? null;
  if (inFile === stored.calibratedOn) return [];
  const file =
    inFile === null ? "no calibration counts by the files" : `the files have that of ${inFile}`;
  return [
    `the controller keeps a calibration of ${stored.calibratedOn}, but ${file}: look which is the newer one; identify --keep writes that of the files into it`,
  ];
}
