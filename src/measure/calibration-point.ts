/** What was read at one setting of the supply, from the codes of the channel and of the known source. */
import type { PlannedChannel } from "../events/plan.ts";
import { referenceByKnown } from "./channel-scale.ts";
import type { RawSums } from "./reading.ts";
import { combinedU } from "./statistics/effective-dof.ts";
import { measuredReference } from "./uncertainty/scale-terms.ts";

export interface CalibrationPoint {
  readonly meterV: number;
  /** One step of the meter's last digit, volts. */
  readonly digitV: number;
  /** Mean code. */
  readonly code: number;
  readonly count: number;
  readonly min: number;
  readonly max: number;
  /** The converter's reference as the rig measured it then; missing where it does not. */
  readonly referenceV?: number | undefined;
  /** Standard uncertainty of that, the known source apart. */
  readonly referenceU?: number | undefined;
}

export interface ReferenceAtPoint {
  readonly referenceV: number;
  readonly referenceU: number;
}

/**
 * The reference by the known source.
 *
 * @returns null when the channel reads no known source, or read nothing of it
 */
export function referenceAtPoint(
  raw: RawSums,
  { reads }: Pick<PlannedChannel, "reads">,
  linearitySteps: number,
): ReferenceAtPoint | null {
  if (reads.kind !== "reference" || raw.sum === 0) return null;
  const referenceV = referenceByKnown(reads.volts, raw.sum / raw.count);
  const { reading } = measuredReference(raw, { part: 0 }, { linearitySteps });
  return { referenceV, referenceU: referenceV * combinedU(reading) };
}

export function calibrationPoint(
  meter: { readonly meterV: number; readonly digitV: number },
  { sum, count, min, max }: RawSums,
  reference: ReferenceAtPoint | null,
): CalibrationPoint {
  return { ...meter, code: sum / count, count, min, max, ...reference };
}
