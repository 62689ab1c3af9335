/**
 * From raw sums to a reading, or to the reason why there is none.
 *
 * No reading is better than a false one: a value is never made up for a channel that was clipped,
 * torn or whose lead could be off the board.
 */
import type { ChannelReading } from "../events/events.ts";
import type { NoReadingReason } from "../events/levels.ts";
import type { PlannedChannel } from "../events/plan.ts";
import { channelVolts } from "./channel-scale.ts";
import { CODE_MAX } from "./divider.ts";

/** Sum and extremes of `count` codes of one channel, as the Bench port gives them. */
export interface RawSums {
  readonly channel: string;
  readonly sum: number;
  readonly count: number;
  readonly min: number;
  readonly max: number;
}

/**
 * One channel's reading in volts at its node.
 *
 * @param channel    the plan's channel of the same name
 * @param leadProved true once this lead has been seen to follow its node in this run
 * @returns volts, or null with the reason:
 *   `torn` when count, sum and extremes cannot belong together,
 *   `clipped` when a code stood at the upper end, or at the lower end of an offset divider,
 *   `lead not proved` when a code stood at 0 on a plain divider whose lead is not proved: an open
 *   lead reads the same. On a proved lead the volts then mean "at most one step".
 * @throws RangeError when the raw reading belongs to another channel
 */
export function toReading(
  raw: RawSums,
  channel: PlannedChannel,
  leadProved: boolean,
): ChannelReading {
  if (raw.channel !== channel.name) {
    throw new RangeError(`Expected codes of channel ${channel.name}, got ${raw.channel}.`);
  }
  const reason = reasonAgainst(raw, channel, leadProved);
  return {
    channel: channel.name,
    volts: reason === null ? channelVolts(raw.sum / raw.count, channel) : null,
    noReading: reason,
    sum: raw.sum,
    count: raw.count,
    min: raw.min,
    max: raw.max,
  };
}

/**
 * A reading over whole periods of the mains, with what it did meanwhile. The mean hides a level that
 * goes to and fro; its extremes do not.
 *
 * @returns as `toReading`, with rippleV and highestV where there are volts
 */
export function toReadingOverMains(
  raw: RawSums,
  channel: PlannedChannel,
  leadProved: boolean,
): ChannelReading {
  const reading = toReading(raw, channel, leadProved);
  if (reading.volts === null) return reading;
  const highestV = channelVolts(raw.max, channel);
  const lowestV = channelVolts(raw.min, channel);
  return { ...reading, rippleV: highestV - lowestV, highestV };
}

/**
 * What the converter saw, for a person to tell an open lead from a node at 0 V. It is never judged
 * and stands for no reading: ask for it only where there is none.
 *
 * @returns volts at the node if the lead is on it; null when the codes cannot belong together
 */
export function seenVolts(raw: RawSums, channel: PlannedChannel): number | null {
  return isWhole(raw) ? channelVolts(raw.sum / raw.count, channel) : null;
}

/** A reading that was not taken or may not be used, with its reason. */
export function noReading(channel: string, reason: NoReadingReason): ChannelReading {
  return { channel, volts: null, noReading: reason, sum: 0, count: 0, min: 0, max: 0 };
}

/** One code, such as a channel of a rail scan, as sums of a single conversion. */
export function singleCode(channel: string, code: number): RawSums {
  return { channel, sum: code, count: 1, min: code, max: code };
}

function reasonAgainst(
  raw: RawSums,
  channel: PlannedChannel,
  leadProved: boolean,
): NoReadingReason | null {
  if (!isWhole(raw)) {
    return "torn";
  }
  if (raw.max === CODE_MAX) {
    return "clipped";
  }
  if (raw.min > 0) {
    return null;
  }
  if (channel.divider.pullUpOhm !== null) {
    return "clipped";
  }
  return leadProved ? null : "lead not proved";
}

/** Whether count codes with these extremes can have this sum. */
function isWhole({ sum, count, min, max }: RawSums): boolean {
  if (![sum, count, min, max].every(Number.isSafeInteger)) {
    return false;
  }
  if (count < 1 || min < 0 || max > CODE_MAX || min > max) {
    return false;
  }
  if (count === 1) {
    return min === max && sum === min;
  }
  // One code is the lowest and one the highest; the others lie between.
  return sum >= min * (count - 1) + max && sum <= max * (count - 1) + min;
}
