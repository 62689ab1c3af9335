/**
 * A calibration put on the channels of a plan: on those that are wired today as they were then, for as
 * long as it counts. Whatever of it is left out is said, never passed over.
 */
import { formatWallTime } from "../clock/wall-time.ts";
import type { ChannelCalibration, PlannedCalibration, PlannedChannel } from "../events/plan.ts";
import type { CalibratedChannel, Calibration } from "../formats/calibration.schema.ts";
import type { Rig } from "../formats/rig.schema.ts";

/** The newest calibration that lies beside the rig file, and what names it in a record. */
interface FoundCalibration {
  readonly value: Calibration;
  /** SHA-256 of its file, hex. */
  readonly sha256: string;
}

export interface AppliedCalibration {
  readonly channels: readonly PlannedChannel[];
  /** Null when no channel is calibrated. */
  readonly planned: PlannedCalibration | null;
  /** What weakens it, one clause each. */
  readonly remarks: readonly string[];
}

const ID_DIGITS = 12;

/** The newest calibration of a rig, and the day of the run, such as 2026-05-01. */
export interface Calibrated {
  readonly calibration: FoundCalibration;
  readonly today: string;
}

export function applyCalibration(
  { channels, rig }: { readonly channels: readonly PlannedChannel[]; readonly rig: Rig },
  calibrated: Calibrated | null,
): AppliedCalibration {
  if (calibrated === null) return { channels, planned: null, remarks: [] };
  const { calibration: found, today } = calibrated;
  const { value } = found;
  const against = reasonAgainst(value, rig, today);
  if (against !== null) return { channels, planned: null, remarks: [against] };
  const day = dayOf(value.date);
  const remarks: string[] = [];
  const missing: string[] = [];
  const applied = channels.map((channel): PlannedChannel => {
    const entry = value.channels[channel.name];
    if (entry === undefined) {
      if (isCalibrated(channel)) missing.push(channel.name);
      return channel;
    }
    const changed = changedParts(entry.wired, channel);
    if (changed.length === 0) return { ...channel, calibration: calibrationOf(entry, value) };
    remarks.push(
      `calibration of ${day} not used for ${channel.name}: ${changed.join(" and ")} changed in the rig file since`,
    );
    return channel;
  });
  const gone = Object.keys(value.channels).filter(
    (name) => !channels.some((channel) => channel.name === name),
  );
  if (gone.length > 0) {
    remarks.push(`calibration of ${day} has ${gone.join(", ")}, which the rig file no longer has`);
  }
  if (missing.length > 0) {
    remarks.push(`calibration of ${day} leaves out ${missing.join(", ")}`);
  }
  const isUsed = applied.some(({ calibration }) => calibration !== undefined);
  return { channels: applied, planned: isUsed ? plannedOf(found) : null, remarks };
}

/** Why nothing of it counts; null when it does. */
function reasonAgainst(value: Calibration, rig: Rig, today: string): string | null {
  const day = dayOf(value.date);
  if (value.rig !== rig.rig) {
    return `calibration of ${day} not used: it is for rig ${value.rig}, this one is ${rig.rig}`;
  }
  if (value.expires <= today) {
    return `calibration of ${day} not used: it expired on ${value.expires}`;
  }
  if (day > today) {
    return `calibration of ${day} not used: it is later than this computer's ${today}`;
  }
  const then = value.reference?.sourceV;
  const now = rig.reference?.volts;
  if (then === now) return null;
  const what = (volts: number | undefined) =>
    volts === undefined ? "without a measured reference" : `with a reference source of ${volts} V`;
  return `calibration of ${day} not used: it was made ${what(then)}, and the rig file is ${what(now)}`;
}

/** Channels that carry volts of a board: those that a calibration is expected to have. */
function isCalibrated({ reads }: PlannedChannel): boolean {
  return reads.kind === "net" || reads.kind === "line" || reads.kind === "rail";
}

function changedParts(
  wired: CalibratedChannel["wired"],
  { number, divider, referenceV }: PlannedChannel,
): string[] {
  const pairs = [
    ["channel", wired.channel, number],
    ["topOhm", wired.topOhm, divider.topOhm],
    ["bottomOhm", wired.bottomOhm, divider.bottomOhm],
    ["pullUpOhm", wired.pullUpOhm ?? null, divider.pullUpOhm],
    ["referenceV", wired.referenceV, referenceV],
  ] as const;
  return pairs.flatMap(([name, then, now]) => (then === now ? [] : [name]));
}

function calibrationOf(entry: CalibratedChannel, { meter }: Calibration): ChannelCalibration {
  const { gain, offsetV, referenceV, fit, lowV, highV, linearityV } = entry;
  return {
    gain,
    offsetV,
    ...(referenceV === undefined ? {} : { referenceV }),
    fit,
    meter: { part: meter.percent / 100, volts: meter.volts },
    lowV,
    highV,
    residualV: linearityV,
  };
}

function plannedOf({ value, sha256 }: FoundCalibration): PlannedCalibration {
  const { date, expires, meter, celsius } = value;
  const id = sha256.slice(0, ID_DIGITS);
  return {
    date,
    expires,
    id,
    meter: meter.name,
    ...(celsius === undefined ? {} : { celsius }),
  };
}

/** Day of a time with its offset, in UTC like the day of a run. */
function dayOf(date: string): string {
  return formatWallTime(Date.parse(date)).slice(0, "2026-05-01".length);
}
