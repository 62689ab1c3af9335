/**
 * The line of one channel through points of a reference meter: volts at the lead against volts by the
 * marked divider and the reference. What the meter is off by is the same at every point and no matter of
 * the fit (JCGM 100:2008, H.3.6); it is kept beside the line and counts with every reading.
 */
import type { ChannelCalibration, Divider } from "../events/plan.ts";
import type { CalibrationPoint } from "./calibration-point.ts";
import { nodeVolts, rangeV, voltsPerCode } from "./divider.ts";
import { toReading } from "./reading.ts";
import { fitPolynomial, type PolynomialFit } from "./statistics/linear-fit.ts";
import { chiSquareQuantile } from "./statistics/quantiles.ts";
import { samplingTerms } from "./uncertainty/sampling-terms.ts";
import { LINEARITY_STEPS } from "./uncertainty/scale-terms.ts";

/** What of a channel a calibration rests on. */
export interface CalibratedWiring {
  readonly name: string;
  readonly divider: Divider;
  /** As marked. */
  readonly referenceV: number;
}

/** What its parts may be off by, for telling a wrong lead from a wrong resistor. */
export interface PartLimits {
  readonly resistorPart: number;
  readonly referencePart: number;
  /** Straightness of the converter, steps. */
  readonly linearitySteps: number;
}

/** For the mean of the references measured with its points, where they were. */
export type FittedLine = Omit<ChannelCalibration, "meter">;

export type FitResult =
  | { readonly ok: true; readonly line: FittedLine }
  /** One sentence: what is wrong, and what to do. */
  | { readonly ok: false; readonly why: string };

/** The points of a channel must span this share of what it can read: a line through neighbours swings. */
const LEAST_SPAN_PART = 0.2;
/** Parts of any rig are taken to be at least this bad, whatever the file says, before a lead is doubted. */
const RESISTOR_PART = 0.05;
/** A USB supply within 4.40 V and 5.25 V (USB 2.0, 7.2.2), and something. */
const REFERENCE_PART = 0.12;
/** A shunt reference and its reading. */
const MEASURED_REFERENCE_PART = 0.02;
/** Offset and straightness of a converter, ground drop of the leads. Steps. */
const SLACK_STEPS = 10;
/** Of a gain that its own points leave open, at most. */
const GAIN_SLACK = 0.05;
/** Scatter about the line that known uncertainties explain only once in twenty scales them up. */
const SCATTER_P = 0.95;

/** What `pointDoubt` and the fit take parts to be when the rig file does not say. */
export function partLimits(
  accuracy: Partial<PartLimits> | undefined,
  isReferenceMeasured: boolean,
): PartLimits {
  return {
    resistorPart: Math.max(RESISTOR_PART, accuracy?.resistorPart ?? 0),
    referencePart: isReferenceMeasured
      ? MEASURED_REFERENCE_PART
      : Math.max(REFERENCE_PART, accuracy?.referencePart ?? 0),
    linearitySteps: accuracy?.linearitySteps ?? LINEARITY_STEPS,
  };
}

/** Volts at the lead by the marked divider, and by the reference as it was at the point. */
function markedVolts(point: CalibrationPoint, wiring: CalibratedWiring): number {
  return nodeVolts(point.code, wiring.divider, point.referenceV ?? wiring.referenceV);
}

/**
 * Why a point cannot be one of this channel.
 *
 * @returns one sentence, or null when nothing speaks against it
 */
export function pointDoubt(
  point: CalibrationPoint,
  wiring: CalibratedWiring,
  limits: PartLimits,
): string | null {
  const { meterV, digitV, code, count, min, max } = point;
  const { name, divider } = wiring;
  if (![meterV, digitV, code].every(Number.isFinite)) {
    return `${name}: the point is not a number. Take it again.`;
  }
  const raw = { channel: name, sum: Math.round(code * count), count, min, max };
  const { noReading } = toReading(raw, { ...ANY_CHANNEL, ...wiring }, true);
  if (noReading === "torn") {
    return `${name}: mean, lowest and highest code cannot belong together. Take the point again.`;
  }
  const referenceV = point.referenceV ?? wiring.referenceV;
  const range = rangeV(divider, referenceV);
  if (noReading === "clipped" || min === 0) {
    return (
      `${name}: the converter is at its end at ${volts(meterV)}; it reads ${volts(range.lowV)} to ` +
      `${volts(range.highV)}, less at both ends. Set the supply inside that.`
    );
  }
  const reach = reachOf(point, wiring, limits);
  if (meterV >= reach.lowV && meterV <= reach.highV) return null;
  const marked = markedVolts(point, wiring);
  return (
    `${name}: the meter says ${volts(meterV)}, the codes say ${volts(marked)}, and parts as bad as they come explain ` +
    `${volts(reach.lowV)} to ${volts(reach.highV)} only: another lead is on the supply, the meter is on another range or ` +
    "its leads are exchanged, or the rig file names other resistors."
  );
}

/**
 * Fit the line of one channel.
 *
 * @param points two or more that `pointDoubt` has nothing against
 */
export function fitCalibration(
  points: readonly CalibrationPoint[],
  wiring: CalibratedWiring,
  limits: PartLimits,
): FitResult {
  const { name, divider } = wiring;
  if (points.length < 2) {
    return refused(
      `${name}: ${points.length} points, and a line needs two. Take a low and a high one.`,
    );
  }
  for (const point of points) {
    const why = pointDoubt(point, wiring, limits);
    if (why !== null) return refused(why);
  }
  const meter = points.map(({ meterV }) => meterV);
  const lowV = Math.min(...meter);
  const highV = Math.max(...meter);
  const range = rangeV(divider, wiring.referenceV);
  const leastV = LEAST_SPAN_PART * (range.highV - range.lowV);
  if (highV === lowV) {
    return refused(
      `${name}: all points are at ${volts(lowV)}. Take one at other volts, ${volts(leastV)} away or more.`,
    );
  }
  if (highV - lowV < leastV) {
    return refused(
      `${name}: the points span ${volts(highV - lowV)}, too near each other for a line over ` +
        `${volts(range.lowV)} to ${volts(range.highV)}. Take them ${volts(leastV)} apart or more.`,
    );
  }
  const marked = points.map((point) => markedVolts(point, wiring));
  const slope = roughSlope(marked, meter);
  // What the reference did between the points is taken out: every part of a reading goes with it.
  const carried = carriedBy(points);
  const by = (values: readonly number[]) => values.map((value, n) => value / (carried[n] ?? 1));
  const [x, y] = [by(marked), by(meter)];
  const u = by(points.map((point) => pointU(point, { wiring, slope, limits })));
  if (Math.max(...x) - Math.min(...x) < leastV / 2) {
    return refused(`${name}: the codes did not move with the supply. ${WRONG_LEAD}`);
  }
  const line = lineWithScatter(fitPolynomial({ x, y, u }, 1));
  const most = gainReach(wiring, limits);
  const slack = Math.min(GAIN_SLACK, 3 * line.fit.gainU);
  if (line.gain < most.low - slack || line.gain > most.high + slack) {
    return refused(
      `${name}: gain ${line.gain.toFixed(4)} is beyond what parts explain (${most.low.toFixed(3)} to ${most.high.toFixed(3)}). ${WRONG_LEAD}`,
    );
  }
  const distances = x.map((at, n) => Math.abs((y[n] ?? 0) - line.offsetV - line.gain * at));
  const referenceV = meanReference(points);
  const then = referenceV === null ? {} : { referenceV };
  return { ok: true, line: { ...line, ...then, lowV, highV, residualV: Math.max(...distances) } };
}

const WRONG_LEAD =
  "Look whether this lead is on the supply, the meter on its range, and the resistors those of the rig file.";

/** Where only the divider matters. */
const ANY_CHANNEL = { number: 1, reads: { kind: "ground" } } as const;

function refused(why: string): FitResult {
  return { ok: false, why };
}

/** Known uncertainties stand unless the scatter says more than they can explain (chi-square). */
function lineWithScatter({
  coefficients,
  covariance,
  residualSd,
  dof,
}: PolynomialFit): Pick<FittedLine, "gain" | "offsetV" | "fit"> {
  const [offsetV = Number.NaN, gain = Number.NaN] = coefficients;
  // The mean of the squared distances in units of their uncertainty: 1 where these are right.
  const excess = residualSd === null ? 0 : residualSd ** 2;
  const isWider = dof > 0 && excess * dof > chiSquareQuantile(SCATTER_P, dof);
  const scale = isWider ? excess : 1;
  const of = (row: number, column: number) => scale * (covariance?.[row]?.[column] ?? Number.NaN);
  return {
    gain,
    offsetV,
    fit: {
      gainU: Math.sqrt(of(1, 1)),
      offsetU: Math.sqrt(of(0, 0)),
      covariance: of(0, 1),
      dof: isWider ? dof : null,
    },
  };
}

/** Standard uncertainty of a point beside the line: of its codes, the reference's, the meter's last digit. */
function pointU(
  point: CalibrationPoint,
  given: {
    readonly wiring: CalibratedWiring;
    readonly slope: number;
    readonly limits: PartLimits;
  },
): number {
  const { wiring, slope, limits } = given;
  const { code, count, min, max, digitV } = point;
  const stepV =
    Math.abs(slope) * voltsPerCode(wiring.divider, point.referenceV ?? wiring.referenceV);
  const raw = { channel: wiring.name, sum: code * count, count, min, max };
  const parts = samplingTerms(raw, stepV, 0).map((term) => term.u);
  const bow = (limits.linearitySteps * stepV) / Math.sqrt(3);
  const digit = digitV / 2 / Math.sqrt(3);
  const { referenceV, referenceU = 0 } = point;
  const reference = referenceV === undefined ? 0 : (point.meterV * referenceU) / referenceV;
  return Math.hypot(...parts, bow, digit, reference);
}

/** Mean of the references measured with the points; null where none was. */
export function meanReference(points: readonly CalibrationPoint[]): number | null {
  const measured = points.flatMap(({ referenceV }) =>
    referenceV === undefined ? [] : [referenceV],
  );
  if (measured.length === 0) return null;
  return measured.reduce((sum, one) => sum + one, 0) / measured.length;
}

/** The reference at each point against its mean, as a factor. */
function carriedBy(points: readonly CalibrationPoint[]): number[] {
  const mean = meanReference(points);
  return points.map(({ referenceV }) =>
    referenceV === undefined || mean === null ? 1 : referenceV / mean,
  );
}

/** Through the lowest and the highest point. */
function roughSlope(x: readonly number[], y: readonly number[]): number {
  const low = y.indexOf(Math.min(...y));
  const high = y.indexOf(Math.max(...y));
  const run = (x[high] ?? 0) - (x[low] ?? 0);
  return run === 0 ? 1 : ((y[high] ?? 0) - (y[low] ?? 0)) / run;
}

/** Every divider there can be within the tolerance, at its corners. */
function corners(divider: Divider, part: number): Divider[] {
  const either = [1 - part, 1 + part];
  return either.flatMap((top) =>
    either.flatMap((bottom) =>
      either.map((pullUp) => ({
        topOhm: divider.topOhm * top,
        bottomOhm: divider.bottomOhm * bottom,
        pullUpOhm: divider.pullUpOhm === null ? null : divider.pullUpOhm * pullUp,
      })),
    ),
  );
}

function references(referenceV: number, { referencePart }: PartLimits): number[] {
  return [referenceV * (1 - referencePart), referenceV * (1 + referencePart)];
}

/** Volts that the codes of a point can mean. */
function reachOf(
  point: CalibrationPoint,
  { divider, referenceV: marked }: CalibratedWiring,
  limits: PartLimits,
): { readonly lowV: number; readonly highV: number } {
  const referenceV = point.referenceV ?? marked;
  const all = corners(divider, limits.resistorPart).flatMap((one) =>
    references(referenceV, limits).map((reference) => nodeVolts(point.code, one, reference)),
  );
  const slackV = SLACK_STEPS * voltsPerCode(divider, referenceV) + point.digitV;
  return { lowV: Math.min(...all) - slackV, highV: Math.max(...all) + slackV };
}

/** Gains that parts can make. */
function gainReach(
  { divider, referenceV }: CalibratedWiring,
  limits: PartLimits,
): { readonly low: number; readonly high: number } {
  const marked = voltsPerCode(divider, referenceV);
  const all = corners(divider, limits.resistorPart).flatMap((one) =>
    references(referenceV, limits).map((reference) => voltsPerCode(one, reference) / marked),
  );
  return { low: Math.min(...all), high: Math.max(...all) };
}

function volts(value: number): string {
  return `${Number(value.toPrecision(5))} V`;
}
