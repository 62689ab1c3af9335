/** The soak section of a sequence file as the plan has it. */
import type { Plan } from "../events/plan.ts";
import type { Sequence } from "../formats/sequence.schema.ts";
import { soakSteps } from "./flatten-steps.ts";

const MINUTE_MS = 60_000;
/** A full set of readings this often where the file does not say. */
const READ_EVERY_MIN = 5;

/** Nothing where the file has no such section. */
export function plannedSoak(sequence: Sequence): Pick<Plan, "soak"> {
  const { soak } = sequence;
  if (soak === undefined) return {};
  const { everyMs = 0, readEveryMin = READ_EVERY_MIN, power, dwell } = soak;
  return {
    soak: {
      cycle: soakSteps(soak).map(({ step }) => step),
      everyMs,
      readEveryMs: readEveryMin * MINUTE_MS,
      power:
        power === undefined
          ? null
          : { onMs: power.onMin * MINUTE_MS, offMs: power.offMin * MINUTE_MS },
      dwell:
        dwell === undefined
          ? null
          : { everyMs: dwell.everyMin * MINUTE_MS, forMs: dwell.forMin * MINUTE_MS },
    },
  };
}
