/** Points from a table that a person or another program has written, comma-separated. */
import { type MeterValue, readMeterText } from "../../bench/meter-value.ts";
import type { PlannedChannel } from "../../events/plan.ts";
import {
  type CalibrationPoint,
  calibrationPoint,
  referenceAtPoint,
} from "../../measure/calibration-point.ts";
import type { RawSums } from "../../measure/reading.ts";
import { UsageError } from "../usage-error.ts";

/** Leads that are on the supply together, and what the meter shows then. */
export interface JoinedRow {
  readonly channels: readonly PlannedChannel[];
  readonly meter: MeterValue;
}

export interface PointOfChannel {
  readonly channel: PlannedChannel;
  readonly point: CalibrationPoint;
}

interface Row {
  readonly fields: readonly string[];
  /** `FILE:LINE`. */
  readonly place: string;
}

/** What the codes are of. */
export interface CodesContext {
  /** Those that are to be calibrated. */
  readonly channels: readonly PlannedChannel[];
  /** Channel of the known source; undefined where the rig has none. */
  readonly own: PlannedChannel | undefined;
  readonly linearitySteps: number;
}

const POINTS_HEAD = "channels,volts";
const CODES_HEAD = "channel,volts,code,count,min,max";

/**
 * `channels,volts`: channels parted by blanks, and the meter's volts; one line a setting.
 *
 * @throws UsageError with file and line
 */
export function readPointsFile(
  text: string,
  file: string,
  channels: readonly PlannedChannel[],
): JoinedRow[] {
  return rowsOf(text, file, [POINTS_HEAD]).map(({ fields, place }) => {
    const [names = "", volts = ""] = fields;
    const named = names.split(/\s+/).filter((name) => name !== "");
    if (named.length === 0) throw new UsageError(`${place}: expected channels before the comma.`);
    return {
      channels: named.map((name) => channelNamed(name, place, channels)),
      meter: meterOf(volts, place),
    };
  });
}

/**
 * `channel,volts,code,count,min,max` and, where the rig measures its reference, `reference`: the mean
 * code of the known source. One line for each point of a channel; no bench is needed.
 *
 * @throws UsageError with file and line
 */
export function readCodesFile(
  text: string,
  file: string,
  { channels, own, linearitySteps }: CodesContext,
): PointOfChannel[] {
  const head = own === undefined ? CODES_HEAD : `${CODES_HEAD},reference`;
  return rowsOf(text, file, [head]).map(({ fields, place }) => {
    const [name = "", volts = "", ...rest] = fields;
    const [code = 0, count = 0, min = 0, max = 0, known] = rest.map((field) =>
      numberOf(field, place),
    );
    if (!Number.isInteger(count) || count < 1) {
      throw new UsageError(`${place}: expected a count of 1 or more, got ${count}.`);
    }
    const raw: RawSums = { channel: name, sum: code * count, count, min, max };
    const reference =
      own === undefined || known === undefined
        ? null
        : referenceAtPoint(knownSums(known, count), own, linearitySteps);
    if (own !== undefined && reference === null) {
      throw new UsageError(
        `${place}: expected the code of the known source above 0, got ${known}.`,
      );
    }
    const channel = channelNamed(name, place, channels);
    return { channel, point: calibrationPoint(meterOf(volts, place), raw, reference) };
  });
}

/** The mean alone was written down: the step on each side of it is what is known. */
function knownSums(mean: number, count: number): RawSums {
  return {
    channel: "reference",
    sum: mean * count,
    count,
    min: Math.floor(mean),
    max: Math.ceil(mean),
  };
}

function rowsOf(text: string, file: string, heads: readonly string[]): Row[] {
  const lines = text
    .split(/\r?\n/)
    .map((line, at) => ({ line: line.trim(), place: `${file}:${at + 1}` }));
  const [first, ...rest] = lines.filter(({ line }) => line !== "" && !line.startsWith("#"));
  const head = heads.find((one) => one === first?.line.toLowerCase().replace(/\s/g, ""));
  if (head === undefined) {
    throw new UsageError(
      `${first?.place ?? file}: expected the first line to be ${heads.join(" or ")}.`,
    );
  }
  const width = head.split(",").length;
  return rest.map(({ line, place }) => {
    const fields = line.split(",").map((field) => field.trim());
    if (fields.length === width) return { fields, place };
    throw new UsageError(`${place}: expected ${width} fields (${head}), got ${fields.length}.`);
  });
}

function channelNamed(
  name: string,
  place: string,
  channels: readonly PlannedChannel[],
): PlannedChannel {
  const channel = channels.find((one) => one.name === name);
  if (channel !== undefined) return channel;
  const known = channels.map((one) => one.name).join(", ");
  throw new UsageError(
    `${place}: expected a channel that is to be calibrated (${known}), got "${name}".`,
  );
}

function meterOf(text: string, place: string): MeterValue {
  const value = readMeterText(text);
  if ("why" in value) throw new UsageError(`${place}: ${value.why}, got "${text}".`);
  return value;
}

function numberOf(text: string, place: string): number {
  const value = Number(text);
  if (text !== "" && Number.isFinite(value)) return value;
  throw new UsageError(`${place}: expected a number, got "${text}".`);
}
