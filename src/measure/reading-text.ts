/** A reading in words; where there is none, why not and what the converter saw instead. */
import type { ChannelReading } from "../events/events.ts";
import type { NoReadingReason } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { seenVolts } from "./reading.ts";
import { measuredText, voltsText } from "./volts-text.ts";

/** The channels a text needs to turn codes into volts; null where no plan is known. */
export type KnownChannels = Pick<Plan, "channels"> | null;

/** Reasons under which the codes themselves are sound; of a torn reading nothing is to be believed. */
const WITH_WHOLE_CODES: ReadonlySet<NoReadingReason | null> = new Set([
  "lead not proved",
  "clipped",
]);

/** `12.61 V`, or `no reading (lead not proved), the converter saw 0.02 V`. */
export function readingText(reading: ChannelReading, known: KnownChannels): string {
  if (reading.volts !== null) return measuredText(reading.volts, reading);
  if (!WITH_WHOLE_CODES.has(reading.noReading)) return `no reading (${reading.noReading})`;
  const channel = known?.channels.find(({ name }) => name === reading.channel);
  const seenV = channel === undefined ? null : seenVolts(reading, channel);
  const seen = seenV === null ? "" : `, the converter saw ${voltsText(seenV)}`;
  return `no reading (${reading.noReading})${seen}`;
}
