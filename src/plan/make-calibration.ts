/** From points of the channels of a rig to a calibration, or to the reasons why there is none. */
import type { PlannedAccuracy, PlannedChannel } from "../events/plan.ts";
import type {
  CalibratedChannel,
  Calibration,
  CalibrationMeter,
} from "../formats/calibration.schema.ts";
import type { CalibrationPoint } from "../measure/calibration-point.ts";
import { channelVolts } from "../measure/channel-scale.ts";
import { voltsPerCode } from "../measure/divider.ts";
import {
  type FittedLine,
  fitCalibration,
  meanReference,
  partLimits,
} from "../measure/fit-calibration.ts";
import { evaluateReading, type RigNow } from "../measure/uncertainty/evaluate.ts";

export interface CalibrationFacts {
  readonly rig: string;
  /** Time with offset. */
  readonly date: string;
  readonly expires: string;
  readonly by: string | null;
  readonly meter: CalibrationMeter;
  /** The known source by the rig file, and the part it may be off by; null where there is none. */
  readonly source: { readonly volts: number; readonly part: number } | null;
  readonly celsius: number | null;
  /** What the rig file says of its parts; null when nothing. */
  readonly accuracy: PlannedAccuracy | null;
}

/** One channel with its points, and with what was known of it before. */
export interface MeasuredChannel {
  /** Calibrated as it was before; without calibration, its marked values were what counted. */
  readonly channel: PlannedChannel;
  /** Date of the calibration before; null for marked values. */
  readonly foundBy: string | null;
  readonly points: readonly CalibrationPoint[];
}

export interface MadeCalibration {
  /** Null when no channel could be fitted. */
  readonly value: Calibration | null;
  /** Why channels have no line, one sentence each. */
  readonly refusals: readonly string[];
  /** What was found to be worse than it was thought to be, one sentence each. */
  readonly warnings: readonly string[];
}

export function makeCalibration(
  facts: CalibrationFacts,
  measured: readonly MeasuredChannel[],
): MadeCalibration {
  const refusals: string[] = [];
  const warnings: string[] = [];
  const channels: Record<string, CalibratedChannel> = {};
  const limits = partLimits(facts.accuracy ?? undefined, facts.source !== null);
  for (const one of measured) {
    const result = fitCalibration(one.points, one.channel, limits);
    if (!result.ok) {
      refusals.push(result.why);
      continue;
    }
    channels[one.channel.name] = entryOf(one, result.line, facts);
    warnings.push(...foundWorse(one, facts));
  }
  if (Object.keys(channels).length === 0) return { value: null, refusals, warnings };
  const { rig, date, expires, by, meter, source, celsius } = facts;
  const referenceV = meanReference(measured.flatMap(({ points }) => points));
  const value: Calibration = {
    format: "holdfast-calibration",
    version: 1,
    rig,
    date,
    expires,
    ...(by === null ? {} : { by }),
    meter,
    ...(source === null || referenceV === null
      ? {}
      : { reference: { sourceV: source.volts, volts: digits(referenceV) } }),
    ...(celsius === null ? {} : { celsius: digits(celsius, 4) }),
    channels,
  };
  return { value, refusals, warnings };
}

function entryOf(
  { channel, foundBy, points }: MeasuredChannel,
  line: FittedLine,
  { meter }: CalibrationFacts,
): CalibratedChannel {
  const { topOhm, bottomOhm, pullUpOhm } = channel.divider;
  const calibration = { ...line, meter: { part: meter.percent / 100, volts: meter.volts } };
  const { gain, offsetV, referenceV, fit, residualV, lowV, highV } = line;
  return {
    wired: {
      channel: channel.number,
      topOhm,
      bottomOhm,
      ...(pullUpOhm === null ? {} : { pullUpOhm }),
      referenceV: channel.referenceV,
    },
    found: foundBy ?? "marked",
    points: points.map((point) => ({
      ...rounded(point),
      asFoundV: digits(foundError(point, channel), 4),
      asLeftV: digits(voltsAt(point, { ...channel, calibration }) - point.meterV, 4),
    })),
    gain: digits(gain),
    offsetV: digits(offsetV),
    ...(referenceV === undefined ? {} : { referenceV: digits(referenceV) }),
    fit: {
      gainU: digits(fit.gainU),
      offsetU: digits(fit.offsetU),
      covariance: digits(fit.covariance),
      dof: fit.dof,
    },
    linearityV: digits(residualV, 4),
    lowV,
    highV,
  };
}

function voltsAt(point: CalibrationPoint, channel: PlannedChannel): number {
  return channelVolts(point.code, {
    ...channel,
    referenceV: point.referenceV ?? channel.referenceV,
  });
}

/** What a run would have told, less the meter: by marked values a code stands for the middle of its step. */
function foundError(point: CalibrationPoint, channel: PlannedChannel): number {
  const referenceV = point.referenceV ?? channel.referenceV;
  const half =
    channel.calibration === undefined ? voltsPerCode(channel.divider, referenceV) / 2 : 0;
  return voltsAt(point, channel) + half - point.meterV;
}

/** The largest error as found, where it is beyond what the channel was said to be off by, the meter's own with it. */
function foundWorse(
  { channel, foundBy, points }: MeasuredChannel,
  facts: CalibrationFacts,
): string[] {
  const { accuracy, meter, source } = facts;
  if (accuracy === null) return [];
  const beyond = points.flatMap((point) => {
    const meterHalfV = (meter.percent / 100) * Math.abs(point.meterV) + meter.volts;
    const sourcePart = source?.part ?? 0;
    const allowedV = Math.hypot(statedU(point, { channel, accuracy, sourcePart }), meterHalfV);
    const errorV = foundError(point, channel);
    return Math.abs(errorV) <= allowedV ? [] : [{ meterV: point.meterV, errorV, allowedV }];
  });
  const [worst] = beyond.sort((a, b) => Math.abs(b.errorV) - Math.abs(a.errorV));
  if (worst === undefined) return [];
  const { meterV, errorV, allowedV } = worst;
  const found =
    `${channel.name}: found ${(1000 * errorV).toFixed(0)} mV off at ${meterV} V, ` +
    `where at most ${(1000 * allowedV).toFixed(0)} mV were to be expected`;
  // Marked values are no promise of an earlier calibration: the file or the wiring is at fault.
  return foundBy === null
    ? [`${found} of its marked values: its parts are worse than the rig file says.`]
    : [
        `${found} since the calibration of ${foundBy.slice(0, "2026-05-01".length)}: what was judged by it since is in doubt.`,
      ];
}

/** U that a run would have told of the same codes, without what a board adds. */
function statedU(
  point: CalibrationPoint,
  known: {
    readonly channel: PlannedChannel;
    readonly accuracy: PlannedAccuracy;
    readonly sourcePart: number;
  },
): number {
  const { code, count, min, max, referenceV, referenceU } = point;
  const name = known.channel.name;
  const now: RigNow = { reference: null, ground: null };
  const channel: PlannedChannel = {
    ...known.channel,
    reads: { kind: "line", line: name },
    referenceV: referenceV ?? known.channel.referenceV,
  };
  // A measured reference is as far off as its source and its reading.
  const accuracy =
    referenceV === undefined || referenceU === undefined
      ? known.accuracy
      : {
          ...known.accuracy,
          referencePart: Math.hypot(known.sourcePart, (Math.sqrt(3) * referenceU) / referenceV),
        };
  const reading = {
    channel: name,
    volts: channelVolts(code, channel),
    noReading: null,
    sum: code * count,
    count,
    min,
    max,
  };
  const evaluated = evaluateReading(reading, {
    channel,
    accuracy,
    now,
    overMains: true,
    classOf: () => "between",
  });
  return evaluated?.budget.expandedV ?? 0;
}

function rounded(point: CalibrationPoint): CalibrationPoint {
  const { code, referenceV, referenceU } = point;
  return {
    ...point,
    digitV: digits(point.digitV, 6),
    code: digits(code),
    ...(referenceV === undefined ? {} : { referenceV: digits(referenceV) }),
    ...(referenceU === undefined ? {} : { referenceU: digits(referenceU, 4) }),
  };
}

/** As many digits as a file needs to give the same volts again. */
function digits(value: number, count = 9): number {
  return Number(value.toPrecision(count));
}
