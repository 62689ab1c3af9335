/** Points without a talk: by the simulated supply of an emulated bench, or by a table of settings. */
import type { MeterValue } from "../../bench/meter-value.ts";
import type { PlannedChannel } from "../../events/plan.ts";
import type { CalibrationGroup } from "../../plan/calibration-groups.ts";
import { UsageError } from "../usage-error.ts";
import type { Talker } from "../write/talk.ts";
import type { JoinedRow } from "./point-files.ts";
import { type PointTaking, takePoint } from "./take-point.ts";

export interface Unattended extends PointTaking {
  /** A simulated supply; null where leads are joined by hand. */
  readonly clip: ((channel: string, volts: number | null) => void) | null;
  readonly say: (line: string) => void;
  readonly signal: AbortSignal;
}

/** Where between the lower setting and the upper: both, and the middle for the linearity. */
const SHARES = [0, 0.5, 1];

/**
 * The simulated supply sets each group's volts, the simulated meter tells them.
 *
 * @returns false when it was broken off
 * @throws UsageError when a point is refused
 */
export async function gatherSimulated(
  groups: readonly CalibrationGroup[],
  meterOf: (trueV: number) => MeterValue,
  given: Unattended,
): Promise<boolean> {
  for (const { channels, wantedV } of groups) {
    const [low, high] = wantedV;
    given.say(`Simulated supply and meter on ${names(channels)}.`);
    for (const share of SHARES) {
      if (given.signal.aborted) return false;
      const trueV = low + share * (high - low);
      await onSupply(channels, trueV, given, () => taken(channels, meterOf(trueV), given));
    }
  }
  return true;
}

/**
 * Settings by a table: for each one, which leads to join.
 *
 * @param talker waits for Enter; null where nothing is to be waited for
 * @returns false when it was broken off
 * @throws UsageError when a point is refused
 */
export async function gatherRows(
  rows: readonly JoinedRow[],
  talker: Talker | null,
  given: Unattended,
): Promise<boolean> {
  for (const { channels, meter } of rows) {
    if (given.signal.aborted) return false;
    given.say(`Join ${names(channels)} to the supply, ${meter.meterV} V by the meter.`);
    if (talker !== null && given.clip === null) {
      const heard = await talker.hear("Enter when it stands still ");
      if (heard.kind === "over" || heard.text.trim() === "stop") return false;
    }
    await onSupply(channels, meter.meterV, given, () => taken(channels, meter, given));
  }
  return true;
}

async function onSupply(
  channels: readonly PlannedChannel[],
  volts: number,
  { clip }: Unattended,
  take: () => Promise<void>,
): Promise<void> {
  for (const { name } of channels) clip?.(name, volts);
  await take();
  for (const { name } of channels) clip?.(name, null);
}

async function taken(
  channels: readonly PlannedChannel[],
  meter: MeterValue,
  given: Unattended,
): Promise<void> {
  const doubts = await takePoint(channels, meter, given);
  if (doubts.length > 0) throw new UsageError(doubts.join("\n"));
}

function names(channels: readonly PlannedChannel[]): string {
  return channels.map(({ name }) => name).join(", ");
}
