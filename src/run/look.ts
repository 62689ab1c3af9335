/** Reading channels: codes from the bench, volts by src/measure, leads proved on the way. */
import type { RailScan, RailTrail, RawReading, ReadUrgency } from "../bench/bench.ts";
import type { ChannelReading } from "../events/events.ts";
import type { Plan, PlannedChannel, PlannedRail } from "../events/plan.ts";
import { noReading, singleCode, toReading, toReadingOverMains } from "../measure/reading.ts";
import { within } from "./deadline.ts";
import type { RunParts } from "./run-parts.ts";
import { benchDeadlineMs } from "./timing.ts";
import { channelNamed } from "./trip-limits.ts";

/** What looking needs of a run. */
export type Eyes = Pick<
  RunParts,
  "plan" | "bench" | "clock" | "leads" | "passing" | "rails" | "rig"
>;

/**
 * Turn codes into a reading, learn from it whether the lead is proved, keep it for the watch, and a
 * board side's for the proof of its fall.
 */
function understand(raw: RawReading, eyes: Eyes, scan: number | null = null): ChannelReading {
  const channel = channelNamed(raw.channel, eyes.rig.plan);
  // Scans watch over safety and go on; what a scan shows of a fall to zero needs no good reference.
  const isDoubtful = scan === null && eyes.rig.isDoubtful;
  const reading =
    isDoubtful && !isOfRig(channel)
      ? noReading(channel.name, "reference doubtful")
      : readingOf(raw, channel, eyes);
  eyes.leads.learn(reading, channel);
  eyes.passing.set(channel.name, reading);
  const { reads } = channel;
  if (reads.kind === "rail" && reads.at === "board") {
    eyes.rails.noteBoard(reads.rail, reading.volts, eyes.clock.nowMs(), scan);
  }
  return reading;
}

function readingOf(raw: RawReading, channel: PlannedChannel, eyes: Eyes): ChannelReading {
  const { plan, leads, rig } = eyes;
  if (rig.learn(raw, channel)) return toReading(raw, channelNamed(channel.name, plan), true);
  const isProved = leads.isProved(channel.name);
  const overMains = isOverMains(channel, plan);
  const reading = overMains
    ? toReadingOverMains(raw, channel, isProved)
    : toReading(raw, channel, isProved);
  return rig.evaluate(reading, channel, overMains);
}

function isOfRig({ reads }: PlannedChannel): boolean {
  return reads.kind === "reference" || reads.kind === "ground" || reads.kind === "temperature";
}

/** Rails are looked at quickly, for safety's sake; what is judged may take a period of the mains. */
function isOverMains({ reads }: PlannedChannel, { mains }: Plan): boolean {
  return mains !== undefined && (reads.kind === "net" || reads.kind === "line");
}

/**
 * Read channels by the plan's number of samples, or over whole periods of the mains where the rig
 * names them, in the order asked.
 *
 * @returns one reading a channel; `torn` for one the bench did not answer
 */
export async function readChannels(
  names: readonly string[],
  eyes: Eyes,
  urgency: ReadUrgency = "work",
): Promise<ChannelReading[]> {
  if (names.length === 0) return [];
  const { clock, rig } = eyes;
  const all = urgency === "work" ? [...rig.channels, ...names] : names;
  const raws = await within(
    { clock, limitMs: benchDeadlineMs, what: `readings of ${names.join(", ")}` },
    rawReadings(all, eyes, urgency),
  );
  for (const name of all.filter((one) => !names.includes(one))) {
    const raw = raws.find((one) => one.channel === name);
    if (raw !== undefined) understand(raw, eyes);
  }
  return names.map((name) => {
    const raw = raws.find((one) => one.channel === name);
    return raw === undefined ? noReading(name, "torn") : understand(raw, eyes);
  });
}

async function rawReadings(
  names: readonly string[],
  { bench, plan }: Eyes,
  urgency: ReadUrgency,
): Promise<RawReading[]> {
  const { mains, samples } = plan;
  if (mains === undefined) {
    return samples === 1 && urgency === "work"
      ? bench.readOnce(names)
      : bench.read(names, samples, urgency);
  }
  const isSpread = (name: string) => isOverMains(channelNamed(name, plan), plan);
  const spread = names.filter(isSpread);
  const quick = names.filter((name) => !isSpread(name));
  return [
    ...(quick.length === 0 ? [] : await bench.read(quick, samples, urgency)),
    ...(spread.length === 0 ? [] : await bench.readSpread(spread, mains.samples)),
  ];
}

/** The two readings of a rail in a scan. */
export interface RailLook {
  readonly rail: PlannedRail;
  readonly source: ChannelReading;
  readonly board: ChannelReading;
}

/** Understand a scan, rail by rail. */
export function understandScan(scan: RailScan, eyes: Eyes): RailLook[] {
  const readingOf = (name: string): ChannelReading => {
    const code = scan.codes[name];
    return code === undefined
      ? noReading(name, "torn")
      : understand(singleCode(name, code), eyes, scan.scan);
  };
  return eyes.plan.rails.map((rail) => ({
    rail,
    source: readingOf(rail.sourceChannel),
    board: readingOf(rail.boardChannel),
  }));
}

/** Turn the controller's trail of a rail's board side into points for the proof of its fall. */
export function understandTrail({ scan, codes }: RailTrail, rail: PlannedRail, eyes: Eyes): void {
  const channel = channelNamed(rail.boardChannel, eyes.rig.plan);
  const isProved = eyes.leads.isProved(channel.name);
  const volts = codes.map(
    (code) => toReading(singleCode(channel.name, code), channel, isProved).volts,
  );
  eyes.rails.noteTrail(rail.rail, { scan, volts }, eyes.clock.nowMs());
}
