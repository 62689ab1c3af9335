/** A simulated reading as the program makes it in a run: reference first, then common, then the net. */
import type { ChannelReading } from "../../../src/events/events.ts";
import type { LevelContract } from "../../../src/events/levels.ts";
import type { ChannelCalibration, Plan } from "../../../src/events/plan.ts";
import { toReading } from "../../../src/measure/reading.ts";
import { RigWatch } from "../../../src/run/rig-watch.ts";
import type { RandomRig, SimulatedReading } from "./random-rig.ts";

/** The program's view of the rig; one for all readings of a rig, as in a run. */
export function watchOf(rig: RandomRig, calibration?: ChannelCalibration): RigWatch {
  const { range, accuracy } = rig;
  // A net is low below the middle and high above it; in between the program cannot know which.
  const quarterV = (range.highV - range.lowV) / 4;
  const [vilV, vihV] = [range.lowV + quarterV, range.highV - quarterV];
  const contract: LevelContract = { volV: vilV, vilV, vihV, vohV: vihV };
  const channel = calibration === undefined ? rig.channel : { ...rig.channel, calibration };
  const plan = {
    contract,
    accuracy,
    rule: { name: "guarded", evaluated: true, remarks: [] },
    channels: [rig.referenceChannel, rig.groundChannel, channel],
  } as const;
  // A watch looks at nothing else of a plan.
  return new RigWatch(plan as unknown as Plan, () => undefined);
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
