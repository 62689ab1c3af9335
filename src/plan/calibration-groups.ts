/**
 * Which leads of a rig go to the bench supply together, and at what volts. Leads that read about the same
 * range are joined and share the settings of the supply.
 */
import type { PlannedChannel } from "../events/plan.ts";
import { rangeV } from "../measure/divider.ts";

export interface CalibrationGroup {
  readonly channels: readonly PlannedChannel[];
  /** What all of them can read. */
  readonly lowV: number;
  readonly highV: number;
  /** Settings to begin with: one near the lower end, one near the upper. */
  readonly wantedV: readonly [low: number, high: number];
}

/** Ranges that differ by less than this share are one. */
const SAME_RANGE_PART = 0.15;
/** How far into the range the settings lie. */
const LOW_SHARE = 0.1;
const HIGH_SHARE = 0.85;
/** Below what counts as dangerous to touch, DC (60 V, IEC 61010-1), with a good margin. */
const TOUCH_V_MAX = 48;

/**
 * @param names channels that are wanted; null for all that carry volts of a board. Shunts and the ground
 *   channel read millivolts at places that are no lead of a board: only by name
 * @throws RangeError naming a channel that the plan has not, or that has no lead
 */
export function calibrationGroups(
  channels: readonly PlannedChannel[],
  names: readonly string[] | null,
): CalibrationGroup[] {
  const groups: PlannedChannel[][] = [];
  for (const channel of wanted(channels, names)) {
    const group = groups.find(([first]) => first !== undefined && isAlike(first, channel));
    if (group === undefined) groups.push([channel]);
    else group.push(channel);
  }
  return groups.map((group) => {
    const ranges = group.map(({ divider, referenceV }) => rangeV(divider, referenceV));
    const lowV = Math.max(...ranges.map((range) => range.lowV));
    const highV = Math.min(...ranges.map((range) => range.highV));
    const at = (share: number) => touchable(lowV + share * (highV - lowV));
    return { channels: group, lowV, highV, wantedV: [at(LOW_SHARE), at(HIGH_SHARE)] };
  });
}

function wanted(
  channels: readonly PlannedChannel[],
  names: readonly string[] | null,
): PlannedChannel[] {
  if (names === null) return channels.filter(({ reads }) => carriesBoardVolts(reads.kind));
  return names.map((name) => {
    const channel = channels.find((one) => one.name === name);
    if (channel === undefined || !hasLead(channel.reads.kind)) {
      const known = channels.filter(({ reads }) => hasLead(reads.kind)).map((one) => one.name);
      throw new RangeError(
        `Expected channels that can be calibrated (${known.join(", ")}), got ${name}.`,
      );
    }
    return channel;
  });
}

type Kind = PlannedChannel["reads"]["kind"];

function carriesBoardVolts(kind: Kind): boolean {
  return kind === "net" || kind === "line" || kind === "rail";
}

/** A known source and a sensor are what they are. */
function hasLead(kind: Kind): boolean {
  return kind !== "reference" && kind !== "temperature";
}

function isAlike(one: PlannedChannel, other: PlannedChannel): boolean {
  const [a, b] = [one, other].map(({ divider, referenceV }) => rangeV(divider, referenceV));
  if (a === undefined || b === undefined) return false;
  const allowedV = SAME_RANGE_PART * (a.highV - a.lowV);
  return Math.abs(a.lowV - b.lowV) < allowedV && Math.abs(a.highV - b.highV) < allowedV;
}

/** Rounded as a person sets a supply. */
function touchable(volts: number): number {
  const capped = Math.max(-TOUCH_V_MAX, Math.min(TOUCH_V_MAX, volts));
  return Number(capped.toPrecision(2));
}
