/**
 * Two one-sided cumulative sums of standardised residuals: the tabular CUSUM (Page 1954, Biometrika 41,
 * 100-115; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3). Sums what exceeds the reference
 * value k and alarms beyond the decision interval h; quickest for a lasting shift of 2 k.
 *
 * Residuals as in `ewma-chart`. Average run lengths, two-sided, k = 0.5, no head start (Lucas and
 * Crosier 1982, Technometrics 24, 199-205; h = 5 by the method of `cusum-run-length`, as in NIST 6.3.2.3.1):
 *
 * | h | in control | shift of 0.5 sigma | 1 sigma | 2 sigma |
 * | - | ---------- | ------------------ | ------- | ------- |
 * | 4 | 168        | 26.6               | 8.38    | 3.34    |
 * | 5 | 465        | 38.0               | 10.4    | 4.01    |
 *
 * For a wanted chance of a false alarm within a night use `cusumLimitFor`.
 */
import type { ChartSide } from "./chart-side.ts";
import { checkResidual } from "./chart-side.ts";

export interface CusumChart {
  /** Reference value: what of each residual is let go, sigma; half the shift that is looked for. */
  readonly k: number;
  /** Decision interval: a sum beyond it is an alarm, sigma. */
  readonly h: number;
}

/** All that has to be kept between two residuals; plain data. */
export interface CusumState {
  /** Residuals taken so far. */
  readonly count: number;
  /** Sum of what lay above, and of what lay below; both zero or more, sigma. */
  readonly high: number;
  readonly low: number;
  /**
   * The residual, counted from 1, at which each sum was last at zero; 0 is the start. The change is
   * taken to begin after it (Page's estimate, common practice).
   */
  readonly highSince: number;
  readonly lowSince: number;
}

/**
 * @param headStart where both sums begin, sigma: half of h makes a chart quick that starts again after a
 *   gap or a repair (Lucas and Crosier 1982), at the cost of some more false alarms
 */
export function cusumStart(headStart = 0): CusumState {
  return { count: 0, high: headStart, low: headStart, highSince: 0, lowSince: 0 };
}

/**
 * @param residual in sigma
 * @throws RangeError for a residual that is not finite: leave out what was not read
 */
export function cusumStep(
  { k }: Pick<CusumChart, "k">,
  state: CusumState,
  residual: number,
): CusumState {
  checkResidual(residual);
  const count = state.count + 1;
  const high = Math.max(0, state.high + residual - k);
  const low = Math.max(0, state.low - residual - k);
  return {
    count,
    high,
    low,
    highSince: high === 0 ? count : state.highSince,
    lowSince: low === 0 ? count : state.lowSince,
  };
}

/** The side whose sum is beyond h; the greater sum where both are. Null where neither is. */
export function cusumAlarm(
  { h }: Pick<CusumChart, "h">,
  { high, low }: CusumState,
): ChartSide | null {
  if (Math.max(high, low) <= h) return null;
  return high >= low ? "high" : "low";
}
