/**
 * The law of propagation of uncertainty, for inputs that may be correlated and several results at once:
 * JCGM 100:2008, 5.1.2 and 5.2.2, in the matrix form of its example H.2.
 */
import type { Matrix } from "./least-squares.ts";

/** Part of a standard uncertainty that an input is moved by, to either side, for its sensitivity. */
const NUDGE = 1e-3;

/**
 * Sensitivity of a result to each input: how much it changes by a unit of it, from the model itself
 * where its derivative is not at hand (JCGM 100 5.1.3, note 2, with a smaller step).
 *
 * @param u standard uncertainty of each input; one of 0 has no part in the result, and sensitivity 0
 */
export function sensitivities(
  model: (inputs: readonly number[]) => number,
  inputs: readonly number[],
  u: readonly number[],
): number[] {
  checkLengths(inputs.length, u.length, "standard uncertainties");
  return inputs.map((value, at) => {
    const nudge = NUDGE * (u[at] ?? 0);
    if (nudge === 0) return 0;
    const [above, below] = [inputs.with(at, value + nudge), inputs.with(at, value - nudge)];
    return (model(above) - model(below)) / (2 * nudge);
  });
}

/**
 * Covariance of inputs from their standard uncertainties and correlation coefficients (equation 14).
 *
 * @param correlations by rows, 1 on the diagonal; left out for inputs that have none
 */
export function covarianceOf(u: readonly number[], correlations?: Matrix): Matrix {
  if (correlations !== undefined) checkLengths(u.length, correlations.length, "correlations");
  return u.map((one, i) =>
    u.map((other, j) => one * other * (correlations?.[i]?.[j] ?? (i === j ? 1 : 0))),
  );
}

/**
 * Covariance of the means of quantities that were read together, reading by reading (equation 17).
 *
 * @param readings one array for each quantity
 * @throws RangeError for fewer than two readings, or not the same number of each
 */
export function covarianceOfMeans(readings: readonly (readonly number[])[]): Matrix {
  const n = readings[0]?.length ?? 0;
  if (n < 2) throw new RangeError(`A covariance needs two readings or more, got ${n}.`);
  for (const one of readings) checkLengths(n, one.length, "readings of each quantity");
  const off = readings.map((one) => {
    const mean = one.reduce((sum, value) => sum + value, 0) / n;
    return one.map((value) => value - mean);
  });
  return off.map((one) => off.map((other) => dot(one, other) / (n * (n - 1))));
}

/**
 * Covariance of results: their variances stand on the diagonal, u(y) is the root.
 *
 * @param slopes     for each result its sensitivities, one for each input
 * @param covariance of the inputs
 */
export function propagate(slopes: Matrix, covariance: Matrix): Matrix {
  for (const row of slopes) checkLengths(covariance.length, row.length, "sensitivities");
  const halfway = slopes.map((row) => covariance.map((column) => dot(row, column)));
  return halfway.map((row) => slopes.map((other) => dot(row, other)));
}

function dot(left: readonly number[], right: readonly number[]): number {
  return left.reduce((sum, one, at) => sum + one * (right[at] ?? 0), 0);
}

function checkLengths(expected: number, got: number, what: string): void {
  if (expected !== got) throw new RangeError(`Expected ${expected} ${what}, got ${got}.`);
}
