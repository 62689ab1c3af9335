/**
 * A cathode that wears goes slowly; a joint or contact that gives way goes at once. Which of the two lies
 * better in a level's innovations, and since when.
 */
import { type LevelFit, sizeAlong } from "./fit-level.ts";

export interface LineOrStep {
  /** `either`: the readings do not tell. */
  readonly shape: "line" | "step" | "either";
  /** Hour of the best step, and its volts. */
  readonly stepHour: number;
  readonly stepV: number;
  /** What is left of the best step in the innovations. */
  readonly left: Float64Array;
}

/** Places at which a step is looked for. */
const PLACES = 24;
/** Share of the sets that both sides of a step have at least. */
const SIDE_MIN = 0.08;
/**
 * By how much the squares that one explains must be more, in units of noise squared: e to the power of half
 * of it is how much likelier the better one makes the readings; 16 is 3000 to 1, for the best of many places
 */
const CLEARLY = 16;

export function lineOrStep({
  fit,
  innovations,
  line,
  lineLeft,
  hours,
  noiseV,
}: LevelFit): LineOrStep {
  const explains = ({ size, sd }: { size: number; sd: number }) => (size / sd) ** 2;
  let best = { explained: 0, hour: Number.NaN, volts: 0, left: lineLeft };
  const first = Math.ceil(SIDE_MIN * line.length);
  const every = Math.max(1, Math.floor((line.length - 2 * first) / PLACES));
  for (let row = first; row <= line.length - first; row += every) {
    const left = fit.follow(line.map((_, at) => (at >= row ? 1 : 0))).innovations;
    const along = sizeAlong(innovations, left);
    const explained = explains(along);
    if (explained > best.explained) {
      best = { explained, hour: hours[row] ?? Number.NaN, volts: along.size * noiseV, left };
    }
  }
  const byLine = explains(sizeAlong(innovations, lineLeft));
  const shape =
    best.explained > byLine + CLEARLY
      ? "step"
      : byLine > best.explained + CLEARLY / 2
        ? "line"
        : "either";
  return { shape, stepHour: best.hour, stepV: best.volts, left: best.left };
}
