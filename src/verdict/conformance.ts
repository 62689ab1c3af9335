/**
 * How likely a net is beyond its limit, given what was read of it: JCGM 106:2012, clause 7, with nothing
 * known of the net beforehand but the reading.
 */
import { normalCdf } from "../measure/statistics/quantiles.ts";

/**
 * @param marginV room from reading to limit, volts; negative is beyond it
 * @param u       standard uncertainty of the reading, volts, above 0
 * @returns probability that the true volts are beyond the limit
 */
export function chanceBeyond(marginV: number, u: number): number {
  return normalCdf(-marginV / u);
}
