/** Whole periods of the mains in samples one millisecond apart. */
import type { Plan, PlannedMains } from "../events/plan.ts";
import type { Rig } from "../formats/rig.schema.ts";

/** A period of 60 Hz is no whole number of milliseconds; three of them are 50. */
const SAMPLES: Readonly<Record<PlannedMains["hz"], number>> = { 50: 20, 60: 50 };

export function plannedMains({ mains }: Rig): Pick<Plan, "mains"> {
  return mains === undefined ? {} : { mains: { hz: mains.hz, samples: SAMPLES[mains.hz] } };
}
