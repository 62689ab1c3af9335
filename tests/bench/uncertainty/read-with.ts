/** A simulated reading as the program makes it in a run: reference first, then common, then the net. */
import type { ChannelReading } from "../../../src/events/events.ts";
import type { LevelContract } from "../../../src/events/levels.ts";
import type { ChannelCalibration, Plan, PlannedRule } from "../../../src/events/plan.ts";
import { toReading } from "../../../src/measure/reading.ts";
import { RigWatch } from "../../../src/run/rig-watch.ts";
import type { RandomRig, SimulatedReading } from "./random-rig.ts";

/** Limits in the range of what the rig reads, with a wide band in which a state is not known. */
export function contractOf({ range }: Pick<RandomRig, "range">): LevelContract {
  const at = (part: number) => range.lowV + part * (range.highV - range.lowV);
  return { volV: at(0.2), vilV: at(0.25), vihV: at(0.65), vohV: at(0.85) };
}

export const GUARDED: PlannedRule = { name: "guarded", evaluated: true, remarks: [] };

/** The program's view of the rig; one for all readings of a rig, as in a run. */
export function watchOf(rig: RandomRig, calibration?: ChannelCalibration): RigWatch {
  const channel = calibration === undefined ? rig.channel : { ...rig.channel, calibration };
  const plan = {
    contract: contractOf(rig),
    accuracy: rig.accuracy,
    rule: GUARDED,
    channels: [rig.referenceChannel, rig.groundChannel, channel],
  } as const;
  // A watch looks at nothing else of a plan.
  return new RigWatch(plan as unknown as Plan, {
    say: () => undefined,
    on: () => ({ heaters: true, coils: false }),
  });
}

/** @returns volts and U, or null where the program says that there is no reading */
export function readWith(
  watch: RigWatch,
  { raw, reference, ground }: SimulatedReading,
): ChannelReading {
  for (const own of [reference, ground]) {
    if (own !== null) watch.learn(own, named(watch, own.channel));
  }
  const channel = named(watch, "Q");
  return watch.evaluate(toReading(raw, channel, true), channel, false);
}

function named(watch: RigWatch, name: string) {
  const channel = watch.plan.channels.find((one) => one.name === name);
  if (channel === undefined) throw new Error(`Expected a channel ${name}.`);
  return channel;
}
