/**
 * Distribution functions, to seven digits and more (the package's own Student t is its weakest). Checked
 * against the tables of the NIST/SEMATECH e-Handbook, 1.3.6.7.
 */
import jStat from "jstat";

/** From here on Student's t is the normal distribution to seven digits. */
const LARGE_DOF = 1e7;

/** @param p 0 < p < 1 */
export function normalQuantile(p: number): number {
  return jStat.normal.inv(inside(p), 0, 1);
}

export function normalCdf(x: number): number {
  return jStat.normal.cdf(x, 0, 1);
}

export function normalPdf(x: number): number {
  return Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI);
}

/**
 * @param p   0 < p < 1
 * @param dof degrees of freedom, above 0; fractions and Infinity allowed
 * @throws RangeError for another p or dof
 */
export function studentQuantile(p: number, dof: number): number {
  if (!(dof > 0)) throw new RangeError(`Expected degrees of freedom above 0, got ${dof}.`);
  return dof > LARGE_DOF ? normalQuantile(p) : jStat.studentt.inv(inside(p), dof);
}

function inside(p: number): number {
  if (p > 0 && p < 1) return p;
  throw new RangeError(`Expected a probability between 0 and 1, got ${p}.`);
}
