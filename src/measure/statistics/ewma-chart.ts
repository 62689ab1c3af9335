/**
 * The exponentially weighted moving average of standardised residuals, and how far it may stray by
 * chance (Roberts 1959, Technometrics 1, 239-250; NIST/SEMATECH e-Handbook of Statistical Methods,
 * 6.3.2.4). A small lambda sees slow drift, a large one sees steps.
 *
 * A residual is (reading - expected) / sigma: in control it has mean 0 and standard deviation 1, is
 * close to normal and knows nothing of the one before. Readings minutes apart may share hum or
 * temperature: check `lag1` of `summarise` on the baseline first.
 *
 * Average run lengths with settled limits, two-sided (Lucas and Saccucci 1990, Technometrics 32, 1-12):
 *
 * | lambda | limitSd | in control | shift of 1 sigma |
 * | ------ | ------- | ---------- | ---------------- |
 * | 0.03   | 2.437   | 500        | 12.6             |
 * | 0.05   | 2.615   | 500        | 11.4             |
 * | 0.10   | 2.814   | 500        | 10.3             |
 * | 0.20   | 2.962   | 500        | 10.5             |
 * | 0.50   | 3.071   | 500        | 17.5             |
 *
 * For a wanted chance of a false alarm within a night use `ewmaLimitSdFor`.
 */
import type { ChartSide } from "./chart-side.ts";
import { checkResidual } from "./chart-side.ts";

export interface EwmaChart {
  /** Weight of the newest residual, 0 < lambda <= 1. */
  readonly lambda: number;
  /** Half-width of the limits in standard deviations of the average itself: the letter L in papers. */
  readonly limitSd: number;
}

/** All that has to be kept between two residuals; plain data. */
export interface EwmaState {
  /** Residuals taken so far. */
  readonly count: number;
  /** The average, in sigma of a residual. */
  readonly average: number;
}

export const EWMA_START: EwmaState = { count: 0, average: 0 };

/**
 * @param residual in sigma
 * @throws RangeError for a residual that is not finite: leave out what was not read
 */
export function ewmaStep(
  { lambda }: Pick<EwmaChart, "lambda">,
  { count, average }: EwmaState,
  residual: number,
): EwmaState {
  checkResidual(residual);
  return { count: count + 1, average: lambda * residual + (1 - lambda) * average };
}

/**
 * Where the average may be by chance after `count` residuals, plus or minus: the exact limit, narrow at
 * the start and settled after some 3 / lambda residuals.
 *
 * @returns in sigma of a residual; 0 before the first
 */
export function ewmaLimit(
  { lambda, limitSd }: EwmaChart,
  count = Number.POSITIVE_INFINITY,
): number {
  const settled = lambda / (2 - lambda);
  return limitSd * Math.sqrt(settled * (1 - (1 - lambda) ** (2 * count)));
}

/** On which side the average is outside its exact limit, or null. */
export function ewmaAlarm(chart: EwmaChart, { count, average }: EwmaState): ChartSide | null {
  if (Math.abs(average) <= ewmaLimit(chart, count)) return null;
  return average > 0 ? "high" : "low";
}
