/**
 * How long an EWMA chart runs before it alarms, and the limit that keeps false alarms as rare as wanted:
 * the integral equation of Crowder (1987, Technometrics 29, 401-407), by `run-length`.
 */
import type { EwmaChart } from "./ewma-chart.ts";
import { ewmaLimit } from "./ewma-chart.ts";
import { findRoot } from "./find-root.ts";
import { gaussLegendre } from "./gauss-legendre.ts";
import { normalCdf, normalPdf, normalQuantile } from "./quantiles.ts";
import type { Transition } from "./run-length.ts";
import { alarmChance, alarmHazards, averageRunLength, perPlace } from "./run-length.ts";

export interface EwmaConditions {
  /** Mean of the residuals from the first on, sigma; 0 is in control. */
  readonly shift?: number;
  /** Exact limits widen from the start on, as `ewmaAlarm` has them; tables are for settled ones. */
  readonly limits?: "exact" | "settled";
}

/** Limits this close to the settled ones are taken for them. */
const LIMIT_SETTLED = 1e-8;
const NODES_MIN = 20;
const NODES_MAX = 240;
/** Nodes for each standard deviation of a single step across the limits. */
const NODES_PER_STEP_SD = 2;
/** How exactly a limit is wanted. */
const LIMIT_TOLERANCE = 1e-5;

/** Average number of residuals up to and with the first alarm on either side. */
export function ewmaRunLength(chart: EwmaChart, conditions: EwmaConditions = {}): number {
  return averageRunLength(alarmHazards(transitions(chart, conditions)));
}

/** Chance of an alarm within the first `points` residuals. */
export function ewmaAlarmChance(
  chart: EwmaChart,
  points: number,
  conditions: EwmaConditions = {},
): number {
  return alarmChance(alarmHazards(transitions(chart, conditions)), points);
}

/**
 * The limit for exact limits with which a chart in control alarms within `points` residuals with this
 * chance, the residuals being as `ewma-chart` wants them and sigma known. For several charts of one night divide the chance among them: that holds however they hang
 * together (Bonferroni).
 *
 * @throws RangeError for a chance that is not between 0 and 1, or too small for any limit
 */
export function ewmaLimitSdFor({
  lambda,
  points,
  chance,
}: {
  readonly lambda: number;
  readonly points: number;
  readonly chance: number;
}): number {
  const off = (limitSd: number) =>
    Math.log(ewmaAlarmChance({ lambda, limitSd }, points)) - Math.log(chance);
  // No less than a single residual needs, no more than as many that know nothing of each other need.
  const ends = [normalQuantile(1 - chance / 2), normalQuantile(1 - chance / (2 * points))] as const;
  return points === 1 ? ends[0] : findRoot(off, ends, LIMIT_TOLERANCE);
}

function* transitions(
  chart: EwmaChart,
  { shift = 0, limits = "exact" }: EwmaConditions,
): Generator<Transition> {
  const { lambda, limitSd } = chart;
  if (!(lambda > 0 && lambda <= 1 && limitSd > 0)) {
    throw new RangeError(
      `An EWMA chart needs 0 < lambda <= 1 and a positive limit, got ${lambda} and ${limitSd}.`,
    );
  }
  const settled = ewmaLimit(chart);
  const count = Math.ceil(NODES_PER_STEP_SD * ((2 * settled) / lambda)) + NODES_MIN;
  const { nodes, weights } = gaussLegendre(Math.min(NODES_MAX, count));
  const move = (from: readonly number[], limit: number): Transition => ({
    leaving: perPlace(from, (y) => {
      const middle = (1 - lambda) * y + lambda * shift;
      return normalCdf((-limit - middle) / lambda) + normalCdf((middle - limit) / lambda);
    }),
    stay: nodes.map((node, at) => {
      const weight = ((weights[at] ?? 0) * limit) / lambda;
      return perPlace(from, (y) => {
        const step = (limit * node - (1 - lambda) * y) / lambda - shift;
        return weight * normalPdf(step);
      });
    }),
  });
  let from: readonly number[] = [0];
  for (let point = 1; ; point += 1) {
    const limit = limits === "settled" ? settled : ewmaLimit(chart, point);
    if (settled - limit <= LIMIT_SETTLED * settled) break;
    yield move(from, limit);
    from = nodes.map((node) => limit * node);
  }
  yield move(from, settled);
  const steady = move(
    nodes.map((node) => settled * node),
    settled,
  );
  for (;;) yield steady;
}
