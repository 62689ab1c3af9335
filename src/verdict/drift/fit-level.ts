/**
 * One level of a run against what moves it: its noise, its innovations, and how far a line in time goes
 * through them. What the line cannot be told from (a rail that went one way all night) widens its doubt.
 */
import { median, robustSd } from "../../measure/statistics/median.ts";
import type { InfluenceColumns } from "./influences.ts";
import type { LevelSeries } from "./level-series.ts";
import { oddSets, pairwiseSd } from "./odd-sets.ts";
import { RecursiveFit } from "./recursive-fit.ts";
import type { Prior } from "./unit-history.ts";

/** What rails, reference and temperature of a run do to one level, and what is left. */
export interface LevelFit {
  readonly series: LevelSeries;
  readonly influences: readonly string[];
  /** Sets that count, by row; and time on at each, hours. */
  readonly rows: Int32Array;
  readonly hours: Float64Array;
  /** By set that counts: volts, and each influence's distance from its middle. */
  readonly volts: Float64Array;
  readonly columns: readonly Float64Array[];
  readonly prior: Prior;
  readonly fit: RecursiveFit;
  /** In units of the noise of one set; independent where nothing drifts. */
  readonly innovations: Float64Array;
  /** From 0 at the first set to 1 at the last, and what is left of it by the same recursion. */
  readonly line: Float64Array;
  readonly lineLeft: Float64Array;
  /** What the fit takes of the line for the work of level and influences, as the run ended. */
  readonly lineCoefficients: Float64Array;
  /** Standard deviation of one set, volts. */
  readonly noiseV: number;
  /** Sets of this level left out as odd ones. */
  readonly odd: number;
  /** Volts, and volts a unit of each influence, as they ended without a line. */
  readonly coefficients: Float64Array;
  /** Their covariance by rows. */
  readonly covariance: Float64Array;
}

/** Nothing is known of a level beforehand: its doubt in units of the noise of a set. */
const LEVEL_DOUBT = 1e4;
/** A converter that gives the same code all night has no noise to see. Volts. */
const NOISE_V_MIN = 2e-4;
/** Beyond this an innovation counts no more: a step is no noise. Standard deviations. */
const NOISE_CLIP_SD = 4;
/** Rounds in which the noise is found; the second changes little. */
const ROUNDS = 2;
/** Fewer sets than this tell nothing. */
const SETS_MIN = 12;

/**
 * @param priorAt what is known of the sensitivities of such a level beforehand
 * @returns null where the level was read in too few sets, or at one moment only
 */
export function fitLevel(
  series: LevelSeries,
  columns: InfluenceColumns,
  hours: readonly number[],
  priorAt: (levelV: number) => Prior,
): LevelFit | null {
  const odd = oddSets(series.volts, NOISE_V_MIN);
  const rows = rowsThatCount(series.volts, columns.usable, odd);
  const when = pick(hours, rows);
  const [first = 0, last = 0] = [when[0], when.at(-1)];
  if (rows.length < SETS_MIN || !(last > first)) return null;
  const volts = pick(series.volts, rows);
  const own = columns.values.map((column) => pick(column, rows));
  const middleV = median(volts);
  const prior = priorAt(middleV);
  const unexplained = less(volts, middleV, own, prior.mean);
  const line = new Float64Array(when.length);
  for (let at = 0; at < line.length; at += 1) {
    line[at] = ((when[at] as number) - first) / (last - first);
  }

  let noiseV = Math.max(NOISE_V_MIN, pairwiseSd(unexplained));
  let fit = recursion(own, prior, noiseV);
  for (let round = 1; round < ROUNDS; round += 1) {
    const followed = fit.follow(inUnits(unexplained, noiseV));
    noiseV = Math.max(
      NOISE_V_MIN,
      noiseV * noiseOf(followed.innovations, fit.follow(line).innovations),
    );
    fit = recursion(own, prior, noiseV);
  }
  const { innovations, coefficients } = fit.follow(inUnits(unexplained, noiseV));
  const followedLine = fit.follow(line);
  const scales = [noiseV, ...prior.sd];
  const size = scales.length;
  const scaleAt = (at: number) => scales[at] as number;
  return {
    series,
    influences: columns.names,
    rows,
    hours: when,
    volts,
    columns: own,
    prior,
    fit,
    innovations,
    line,
    lineLeft: followedLine.innovations,
    lineCoefficients: followedLine.coefficients,
    noiseV,
    odd: odd.size,
    coefficients: coefficients.map(
      (one, at) => one * scaleAt(at) + (at === 0 ? middleV : (prior.mean[at - 1] as number)),
    ),
    covariance: fit.covariance.map(
      (one, at) => one * scaleAt(Math.floor(at / size)) * scaleAt(at % size),
    ),
  };
}

/** How a change of this shape lies in the innovations: its size in units of noise, and its standard deviation. */
export function sizeAlong(
  innovations: Float64Array,
  shapeLeft: Float64Array,
): { readonly size: number; readonly sd: number } {
  let [along, squares] = [0, 0];
  for (let at = 0; at < shapeLeft.length; at += 1) {
    along += (shapeLeft[at] as number) * (innovations[at] as number);
    squares += (shapeLeft[at] as number) ** 2;
  }
  return { size: along / squares, sd: 1 / Math.sqrt(squares) };
}

/** Volts less a level and what the influences do at these sensitivities. */
export function less(
  volts: Float64Array,
  levelV: number,
  columns: readonly Float64Array[],
  sensitivities: ArrayLike<number>,
): Float64Array {
  const left = new Float64Array(volts.length);
  for (let row = 0; row < left.length; row += 1) left[row] = (volts[row] as number) - levelV;
  for (const [at, column] of columns.entries()) {
    const sensitivity = sensitivities[at] as number;
    for (let row = 0; row < left.length; row += 1) {
      left[row] = (left[row] as number) - sensitivity * (column[row] as number);
    }
  }
  return left;
}

function rowsThatCount(
  volts: Float64Array,
  usable: readonly boolean[],
  odd: ReadonlySet<number>,
): Int32Array {
  const rows = new Int32Array(volts.length);
  let count = 0;
  for (let row = 0; row < volts.length; row += 1) {
    if (Number.isNaN(volts[row]) || usable[row] !== true || odd.has(row)) continue;
    rows[count] = row;
    count += 1;
  }
  return rows.subarray(0, count);
}

function inUnits(values: Float64Array, unit: number): Float64Array {
  const own = new Float64Array(values.length);
  for (let at = 0; at < own.length; at += 1) own[at] = (values[at] as number) / unit;
  return own;
}

function pick(values: ArrayLike<number>, rows: Int32Array): Float64Array {
  const picked = new Float64Array(rows.length);
  for (let at = 0; at < picked.length; at += 1) picked[at] = values[rows[at] as number] as number;
  return picked;
}

/** Columns in units of what their coefficients may be, so that these are standard normal beforehand. */
export function recursion(
  columns: readonly Float64Array[],
  { sd, correlation }: Prior,
  noiseV: number,
): RecursiveFit {
  const scaled = columns.map((column, at) => {
    const by = (sd[at] as number) / noiseV;
    const own = new Float64Array(column.length);
    for (let row = 0; row < own.length; row += 1) own[row] = (column[row] as number) * by;
    return own;
  });
  const size = columns.length + 1;
  const covariance = new Float64Array(size * size);
  covariance[0] = LEVEL_DOUBT ** 2;
  for (let i = 1; i < size; i += 1) {
    for (let j = 1; j < size; j += 1) {
      covariance[i * size + j] = correlation[(i - 1) * (size - 1) + j - 1] as number;
    }
  }
  const ones = new Float64Array(columns[0]?.length ?? 0).fill(1);
  return new RecursiveFit([ones, ...scaled], covariance);
}

/** Standard deviation of the innovations once a line is taken out of them. */
function noiseOf(innovations: Float64Array, lineLeft: Float64Array): number {
  const { size } = sizeAlong(innovations, lineLeft);
  const left = innovations.slice(1);
  for (let at = 0; at < left.length; at += 1) {
    left[at] = (left[at] as number) - size * (lineLeft[at + 1] as number);
  }
  const most = NOISE_CLIP_SD * robustSd(left);
  let squares = 0;
  for (const one of left) squares += Math.min(Math.abs(one), most) ** 2;
  return Math.sqrt(squares / left.length);
}
