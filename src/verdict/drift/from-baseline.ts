/**
 * Each hour against the run's own beginning: its mean level less what the first hours, with what is known
 * beforehand, foretell of it from its rails, reference and temperature. This is the compensated hourly
 * residual that a chart draws; its spread over healthy hours is the sigma that drifts are stated in.
 */
import { type LevelFit, less, recursion } from "./fit-level.ts";

export interface HourFromBaseline {
  /** Hour of time on, counted from 0. */
  readonly hour: number;
  readonly residualV: number;
}

/** The first hours that count are the baseline, and at least so many sets. */
const BASELINE_HOURS = 2;
const SETS_MIN = 12;

export function fromBaseline(fit: LevelFit): HourFromBaseline[] {
  const { hours, volts, columns, prior, noiseV } = fit;
  const untilHour = (hours[0] ?? 0) + BASELINE_HOURS;
  const within = hours.filter((hour) => hour < untilHour).length;
  const count = Math.max(SETS_MIN, within);
  if (count >= hours.length) return [];
  const firstV = volts[0] as number;
  const cut = columns.map((column) => column.subarray(0, count));
  const begun = less(volts.subarray(0, count), firstV, cut, prior.mean);
  const { coefficients } = recursion(cut, prior, noiseV).follow(begun.map((one) => one / noiseV));
  const levelV = firstV + (coefficients[0] as number) * noiseV;
  const sensitivities = columns.map(
    (_, at) =>
      (prior.mean[at] as number) + (coefficients[at + 1] as number) * (prior.sd[at] as number),
  );
  const left = less(volts, levelV, columns, sensitivities);
  const sums = new Map<number, { sum: number; sets: number }>();
  for (let row = count; row < left.length; row += 1) {
    const hour = Math.floor(hours[row] as number);
    let of = sums.get(hour);
    if (of === undefined) {
      of = { sum: 0, sets: 0 };
      sums.set(hour, of);
    }
    of.sum += left[row] as number;
    of.sets += 1;
  }
  return [...sums].map(([hour, { sum, sets }]) => ({ hour, residualV: sum / sets }));
}
