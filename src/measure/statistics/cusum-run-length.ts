/**
 * How long a tabular CUSUM runs before it alarms, and the decision interval that keeps false alarms as
 * rare as wanted: the integral equation of Page (1954), by `run-length`. Brook and Evans (1972,
 * Biometrika 59, 539-548) solve it as a Markov chain.
 */
import type { CusumChart } from "./cusum-chart.ts";
import { findRoot } from "./find-root.ts";
import { quadratureOver } from "./gauss-legendre.ts";
import { normalCdf, normalPdf } from "./quantiles.ts";
import type { Transition } from "./run-length.ts";
import { alarmChance, alarmHazards, averageRunLength, perPlace } from "./run-length.ts";

export interface CusumConditions {
  /** Mean of the residuals from the first on, sigma; 0 is in control. */
  readonly shift?: number;
  /** Where the sums start, sigma, from 0 to h. */
  readonly headStart?: number;
}

const NODES_MIN = 24;
const NODES_PER_SD = 3;
/** Where a decision interval is looked for, sigma, and how exactly. */
const H_MIN = 0.1;
const H_FIRST = 4;
const H_MAX = 64;
const LIMIT_TOLERANCE = 1e-5;

/** Average number of residuals up to and with the first alarm of the sum of what lies above. */
export function cusumRunLengthHigh(
  chart: CusumChart,
  { shift = 0, headStart = 0 }: CusumConditions = {},
): number {
  return averageRunLength(alarmHazards(transitions(chart, shift, headStart)));
}

/**
 * The same of both sums together, from one-sided run lengths: exact where h is not below k
 * (van Dobben de Bruyn 1968; with a head start of up to half of h, Lucas and Crosier 1982).
 */
export function cusumRunLength(
  chart: CusumChart,
  { shift = 0, headStart = 0 }: CusumConditions = {},
): number {
  const high = cusumRunLengthHigh(chart, { shift });
  const low = cusumRunLengthHigh(chart, { shift: -shift });
  if (headStart === 0) return 1 / (1 / high + 1 / low);
  const highAhead = cusumRunLengthHigh(chart, { shift, headStart });
  const lowAhead = cusumRunLengthHigh(chart, { shift: -shift, headStart });
  return (highAhead * low + high * lowAhead - high * low) / (high + low);
}

/**
 * Chance of an alarm on either side within the first `points` residuals, or a little less: the sum of
 * both sides' chances, which is never too low and too high by no more than their product.
 */
export function cusumAlarmChance(
  chart: CusumChart,
  points: number,
  { shift = 0, headStart = 0 }: CusumConditions = {},
): number {
  const chanceAt = (mean: number) =>
    alarmChance(alarmHazards(transitions(chart, mean, headStart)), points);
  const high = chanceAt(shift);
  return Math.min(1, high + (shift === 0 ? high : chanceAt(-shift)));
}

/**
 * The decision interval h with which a chart in control alarms within `points` residuals with this
 * chance at most. For several charts of one night divide the chance among them (Bonferroni).
 *
 * @throws RangeError for a chance that no h between 0.1 and 64 gives
 */
export function cusumLimitFor({
  k,
  points,
  chance,
}: {
  readonly k: number;
  readonly points: number;
  readonly chance: number;
}): number {
  if (!(chance > 0 && chance < 1)) {
    throw new RangeError(`A chance of a false alarm lies between 0 and 1, got ${chance}.`);
  }
  const chanceAt = (h: number) => cusumAlarmChance({ k, h }, points);
  let high = H_FIRST;
  while (high < H_MAX && chanceAt(high) > chance) high *= 2;
  const low = high === H_FIRST ? H_MIN : high / 2;
  return findRoot((h) => Math.log(chanceAt(h)) - Math.log(chance), [low, high], LIMIT_TOLERANCE);
}

/** The first place is the sum at zero; the others are quadrature nodes from there to h. */
function* transitions(
  { k, h }: CusumChart,
  shift: number,
  headStart: number,
): Generator<Transition> {
  if (!(k >= 0 && h > 0 && headStart >= 0 && headStart <= h)) {
    throw new RangeError(
      `A CUSUM needs k of zero or more, h above it and a start between 0 and h; got ${k}, ${h} and ${headStart}.`,
    );
  }
  const { nodes, weights } = quadratureOver(0, h, NODES_MIN + Math.ceil(NODES_PER_SD * h));
  const move = (from: readonly number[]): Transition => ({
    leaving: perPlace(from, (sum) => normalCdf(sum + shift - k - h)),
    stay: [
      perPlace(from, (sum) => normalCdf(k - sum - shift)),
      ...nodes.map((node, at) => {
        const weight = weights[at] ?? 0;
        return perPlace(from, (sum) => weight * normalPdf(node - sum + k - shift));
      }),
    ],
  });
  yield move([headStart]);
  const steady = move([0, ...nodes]);
  for (;;) yield steady;
}
