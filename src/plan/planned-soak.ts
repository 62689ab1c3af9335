/** The soak section of a sequence file as the plan has it. */
import type { PatternStep, Plan } from "../events/plan.ts";
import type { Sequence } from "../formats/sequence.schema.ts";

const MINUTE_MS = 60_000;
/** A full set of readings this often where the file does not say. */
const READ_EVERY_MIN = 5;

/** @param cycle its steps, with every class filled in; nothing where the file has no such section. */
export function plannedSoak(sequence: Sequence, cycle: readonly PatternStep[]): Pick<Plan, "soak"> {
  const { soak } = sequence;
  if (soak === undefined) return {};
  const { everyMs = 0, readEveryMin = READ_EVERY_MIN, power, dwell, heaterLow } = soak;
  return {
    soak: {
      cycle,
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
      ...(heaterLow === undefined
        ? {}
        : {
            heaterLow: {
              percent: heaterLow.percent,
              settleMs: heaterLow.settleMin * MINUTE_MS,
              ...(heaterLow.riseV === undefined ? {} : { riseMaxV: heaterLow.riseV }),
            },
          }),
    },
  };
}
