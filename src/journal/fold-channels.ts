/** Readings into the channels of the picture. */
import type { ChannelReading, JudgedReading } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";
import type { Plan, PlannedChannel } from "../events/plan.ts";
import { classOfReading } from "../verdict/level-class.ts";
import type { FoldedRun } from "./account.ts";
import type { ChannelSnapshot } from "./snapshot.ts";

/** The run with these readings as the newest of their channels. */
export function withReadings(
  run: FoldedRun,
  readings: readonly (ChannelReading | JudgedReading)[],
): FoldedRun {
  if (readings.length === 0) {
    return run;
  }
  const newest = new Map(readings.map((reading) => [reading.channel, reading]));
  return {
    ...run,
    channels: run.channels.map((channel) => {
      const reading = newest.get(channel.channel);
      return reading === undefined ? channel : updated(channel, reading, run.plan);
    }),
  };
}

/** The run with every channel's expected class as this part of a step has it. */
export function withExpected(
  run: FoldedRun,
  expected: Readonly<Record<string, LevelClass>>,
): FoldedRun {
  return {
    ...run,
    channels: run.channels.map((channel) => ({
      ...channel,
      expected: expected[channel.channel] ?? null,
      result: null,
    })),
  };
}

function updated(
  channel: ChannelSnapshot,
  reading: ChannelReading | JudgedReading,
  plan: Plan | null,
): ChannelSnapshot {
  const { volts, noReading, expandedV } = reading;
  const taken = {
    ...channel,
    volts,
    noReading,
    ...(expandedV === undefined ? {} : { expandedV }),
  };
  if ("result" in reading) {
    return {
      ...taken,
      class: reading.class,
      expected: reading.expected,
      result: reading.result,
    };
  }
  return { ...taken, class: classIn(plan, reading) };
}

/** Rails have windows and currents limits, not classes. */
function hasClasses({ reads }: PlannedChannel): boolean {
  return reads.kind === "net" || reads.kind === "line";
}

function classIn(plan: Plan | null, reading: ChannelReading): LevelClass | null {
  const planned = plan?.channels.find(({ name }) => name === reading.channel);
  if (!plan || planned === undefined || !hasClasses(planned)) return null;
  return classOfReading(reading, plan.contract);
}
