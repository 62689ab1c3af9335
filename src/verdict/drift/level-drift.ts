/** How far one level went over the run, how fast, and how sure that is. */
import { type MannKendall, mannKendall } from "../../measure/statistics/mann-kendall.ts";
import { theilSen } from "../../measure/statistics/theil-sen.ts";
import { type LevelFit, less, sizeAlong } from "./fit-level.ts";

export interface LevelDrift {
  /** Volts from first set to last along a line, and the standard deviation of that. */
  readonly driftV: number;
  readonly sdV: number;
  /** Hours between first set and last. */
  readonly spanHours: number;
  /**
   * By how much rails, reference and temperature, which went their own way over the run, widen the doubt
   * of a line: 1, where they have nothing of a line.
   */
  readonly hidden: number;
  /** The influence that is most like a line over the run, and the square of their correlation. */
  readonly likest: { readonly influence: string; readonly share: number } | null;
  /** Volts by hour of time on (of two or more in a run beyond 72 h), less what rails, reference and temperature did. */
  readonly hourly: readonly { readonly hour: number; readonly volts: number }[];
  /** Theil-Sen through the hours, volts an hour, with its interval for 95 %; null for too few hours. */
  readonly slope: { readonly slope: number; readonly low: number; readonly high: number } | null;
  readonly mannKendall: Pick<MannKendall, "s" | "z" | "p"> | null;
}

const HOURS_MIN = 4;
/** All pairs are looked at: a longer run is gathered in blocks of two hours, of three, and so on. */
const POINTS_MAX = 72;

/** @param widening of the scatter of hours beyond that of sets, 1 or more */
export function levelDrift(fit: LevelFit, widening: number): LevelDrift {
  const { lineLeft, line, innovations, noiseV, hours } = fit;
  const along = sizeAlong(innovations, lineLeft);
  const sdV = along.sd * noiseV * widening;
  const alone = 1 / Math.sqrt(squaresAbout(line));
  const hidden = along.sd / alone;
  const spanHours = (hours.at(-1) ?? 0) - (hours[0] ?? 0);
  const hourly = compensatedHours(fit, along.size, Math.ceil(spanHours / POINTS_MAX));
  const enough = hourly.length >= HOURS_MIN;
  const t = hourly.map(({ hour }) => hour);
  const y = hourly.map(({ volts }) => volts);
  const pairs = enough ? theilSen({ t, y }) : null;
  // The pairs know of the hours' scatter alone; what the influences hide of a line widens it.
  const wide = Math.max(1, hidden);
  return {
    driftV: along.size * noiseV,
    sdV,
    spanHours,
    hidden,
    likest: likestOf(fit),
    hourly,
    slope:
      pairs === null
        ? null
        : {
            slope: pairs.slope,
            low: pairs.slope - wide * (pairs.slope - pairs.low),
            high: pairs.slope + wide * (pairs.high - pairs.slope),
          },
    mannKendall: enough ? mannKendall(y) : null,
  };
}

/** Sensitivities are taken with the line beside them, so that they do not take drift for their own. */
function compensatedHours(
  fit: LevelFit,
  lineSize: number,
  blockHours: number,
): { hour: number; volts: number }[] {
  const { columns, prior, coefficients, hours, volts, lineCoefficients: ofLine } = fit;
  const sensitivities = columns.map((_, at) => {
    const scale = prior.sd[at] as number;
    return (coefficients[at + 1] as number) - lineSize * (ofLine[at + 1] as number) * scale;
  });
  const left = less(volts, 0, columns, sensitivities);
  const sums = new Map<number, { volts: number; hour: number; sets: number }>();
  for (let row = 0; row < left.length; row += 1) {
    const hour = hours[row] as number;
    const block = Math.floor(hour / blockHours);
    let of = sums.get(block);
    if (of === undefined) {
      of = { volts: 0, hour: 0, sets: 0 };
      sums.set(block, of);
    }
    of.volts += left[row] as number;
    of.hour += hour;
    of.sets += 1;
  }
  return [...sums.values()].map((of) => ({ hour: of.hour / of.sets, volts: of.volts / of.sets }));
}

function likestOf({ columns, influences, line }: LevelFit): LevelDrift["likest"] {
  let best: LevelDrift["likest"] = null;
  for (const [at, column] of columns.entries()) {
    const share = correlationOf(column, line) ** 2;
    if (best === null || share > best.share) best = { influence: influences[at] as string, share };
  }
  return best;
}

function correlationOf(a: Float64Array, b: Float64Array): number {
  const meanA = meanOf(a);
  const meanB = meanOf(b);
  let [ab, aa, bb] = [0, 0, 0];
  for (let at = 0; at < a.length; at += 1) {
    const da = (a[at] as number) - meanA;
    const db = (b[at] as number) - meanB;
    ab += da * db;
    aa += da * da;
    bb += db * db;
  }
  return aa === 0 || bb === 0 ? 0 : ab / Math.sqrt(aa * bb);
}

function meanOf(values: Float64Array): number {
  let sum = 0;
  for (const one of values) sum += one;
  return sum / values.length;
}

function squaresAbout(values: Float64Array): number {
  const mean = meanOf(values);
  let squares = 0;
  for (const one of values) squares += (one - mean) ** 2;
  return squares;
}
