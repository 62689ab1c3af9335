/**
 * How likely a net is beyond its limit, given what was read of it: JCGM 106:2012, clause 7, with nothing
 * known of the net beforehand but the reading.
 */
import { normalCdf, normalQuantile } from "../measure/statistics/quantiles.ts";

const TWO_SIDED_95 = 0.975;

/**
 * The reading is taken as normal with the deviation that gives its U at 95 %; where a bounded term rules,
 * tails are thinner than that and the chance is less.
 *
 * @param marginV   room from reading to limit, volts; negative is beyond it
 * @param expandedV U for 95 %, volts, above 0
 * @returns probability that the true volts are beyond the limit
 */
export function chanceBeyond(marginV: number, expandedV: number): number {
  return normalCdf((-marginV * normalQuantile(TWO_SIDED_95)) / expandedV);
}
