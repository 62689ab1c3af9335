/** Which of several likes is unlike: halves of a double tube, sister boards. */
import { median, robustSd } from "./median.ts";

/**
 * Every value's distance from the median in robust standard deviations, the modified z-score of Iglewicz
 * and Hoaglin (1993, How to Detect and Handle Outliers, ASQC; NIST/SEMATECH e-Handbook of Statistical
 * Methods, 1.3.5.17, which calls more than 3.5 a potential outlier).
 *
 * @param sdLeast a spread that likes have anyway, such as the standard uncertainty of a reading: without it
 *   a hair stands out where all others happen to agree
 * @returns in the order of the values; null where neither the values nor `sdLeast` give any spread
 */
export function robustZ(values: readonly number[], sdLeast = 0): readonly number[] | null {
  const middle = median(values);
  const sd = Math.max(robustSd(values), sdLeast);
  return sd > 0 ? values.map((value) => (value - middle) / sd) : null;
}
