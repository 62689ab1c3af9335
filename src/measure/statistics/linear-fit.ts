/**
 * Straight lines and polynomials through measured points, with what the fit knows of its own doubt.
 *
 * Held to NIST StRD, linear least squares (Norris, Pontius): ten digits and more.
 */
import { leastSquares, type Matrix } from "./least-squares.ts";

export interface Points {
  readonly x: readonly number[];
  readonly y: readonly number[];
  /**
   * Standard uncertainty of each y, known beforehand. Points then weigh by it, and the covariance comes
   * from it and not from the scatter; so two points can carry a line that has an uncertainty.
   */
  readonly u?: readonly number[];
}

export interface PolynomialFit {
  /** Coefficients of x to the power 0, 1, ... */
  readonly coefficients: readonly number[];
  /**
   * Covariance of the coefficients (JCGM 100:2008, H.3); null where points are as few as coefficients
   * and no uncertainty was given: a fit through every point knows nothing of its doubt.
   */
  readonly covariance: Matrix | null;
  /** Root of the (weighted) sum of squares by `dof`; null with no degree of freedom. */
  readonly residualSd: number | null;
  /** Points less coefficients. */
  readonly dof: number;
}

/**
 * Fit y = c0 + c1 x + ... + cd x^d.
 *
 * @throws RangeError for lengths that differ, values that are not finite, uncertainties that are not
 *   positive, or points at fewer different x than there are coefficients
 */
export function fitPolynomial({ x, y, u }: Points, degree: number): PolynomialFit {
  const n = x.length;
  const size = degree + 1;
  if (y.length !== n || (u !== undefined && u.length !== n)) {
    throw new RangeError(
      `A fit needs as many y (and u) as x: got ${n} x, ${y.length} y${u === undefined ? "" : `, ${u.length} u`}.`,
    );
  }
  const odd = [...x, ...y, ...(u ?? [])].find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`A fit takes finite values only, got ${odd}.`);
  const unsure = u?.find((value) => value <= 0);
  if (unsure !== undefined) {
    throw new RangeError(`A point's standard uncertainty must be positive, got ${unsure}.`);
  }
  const different = new Set(x).size;
  if (different < size) {
    throw new RangeError(
      `A polynomial of degree ${degree} needs points at ${size} different x, got ${different}. Take a point elsewhere.`,
    );
  }
  const weight = (at: number): number => 1 / (u?.[at] ?? 1);
  const columns = Array.from({ length: size }, (_, power) =>
    x.map((one, at) => one ** power * weight(at)),
  );
  const fit = leastSquares(
    columns,
    y.map((one, at) => one * weight(at)),
  );
  if (fit === null) {
    throw new RangeError(
      `Points too near each other in x for degree ${degree}: spread them, or shift x to start near 0.`,
    );
  }
  const dof = n - size;
  const variance = dof > 0 ? fit.residualSquares / dof : null;
  const scale = u === undefined ? variance : 1;
  return {
    coefficients: fit.solution,
    covariance:
      scale === null ? null : fit.cofactors.map((row) => row.map((value) => value * scale)),
    residualSd: variance === null ? null : Math.sqrt(variance),
    dof,
  };
}

/**
 * A polynomial's value at x and the standard uncertainty that the fit gives it: JCGM 100 equation H.15
 * for a line. Without the scatter of a further reading.
 *
 * @returns u null where the fit has no covariance
 */
export function valueOfFit(
  { coefficients, covariance }: Pick<PolynomialFit, "coefficients" | "covariance">,
  x: number,
): { readonly value: number; readonly u: number | null } {
  const powers = coefficients.map((_, power) => x ** power);
  const value = coefficients.reduce((sum, one, at) => sum + one * (powers[at] ?? 0), 0);
  if (covariance === null) return { value, u: null };
  const variance = covariance.reduce(
    (sum, row, i) =>
      sum + row.reduce((part, one, j) => part + (powers[i] ?? 0) * one * (powers[j] ?? 0), 0),
    0,
  );
  return { value, u: Math.sqrt(Math.max(0, variance)) };
}
