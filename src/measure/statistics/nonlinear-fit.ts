/**
 * Least squares of a curve that is not linear in its parameters, such as a level that settles:
 * Levenberg-Marquardt with steps scaled by the columns of the Jacobian (More 1978, Lecture Notes in
 * Mathematics 630, 105-116) and damping after Nielsen (1999, IMM-REP-1999-05).
 *
 * Our own because the packages at hand do not get there: held to NIST StRD, nonlinear regression, from
 * both published starts, the usual one fails from three of them and none states a parameter's deviation.
 */
import { type LeastSquares, leastSquares, type Matrix } from "./least-squares.ts";

/** Value of the curve at x. */
export type Curve = (parameters: readonly number[], x: number) => number;

export interface CurveFit {
  readonly parameters: readonly number[];
  /** From the residual variance and the Jacobian at the minimum; null with no degree of freedom. */
  readonly covariance: Matrix | null;
  readonly residualSquares: number;
  /** Root of the sum of squares by `dof`; null with no degree of freedom. */
  readonly residualSd: number | null;
  readonly dof: number;
}

/** A fit that did not end at a minimum. Its last parameters would be no estimate, so it holds none. */
export interface NoFit {
  readonly why: string;
}

const ROUNDS_MAX = 1000;
/**
 * Relative offset from which undamped steps end the fit (Bates and Watts 1981, Technometrics 23,
 * 179-183): the root mean square of what the parameters could still take up, over that of what they
 * cannot. The sum of squares itself no longer tells better from worse there; the offset still does.
 */
const OFFSET_NEAR = 1e-6;
/** Residuals of this size beside the data are rounding. */
const ROUNDING = 1e-12;
/** Careful: from a far start a bold first step may land where the curve is flat, as for BoxBOD. */
const DAMPING_START = 1e3;
const DAMPING_MAX = 1e20;
/** Of a parameter, to either side, for its slope: about the cube root of a double's last digit. */
const SLOPE_STEP = 6e-6;
/** How well a slope is known by such steps, as a part of it. */
const SLOPE_ERROR = 1e-9;

/** Far more than are ever taken: each gains digits. */
const FINISHING_STEPS_MAX = 30;

const NOT_APART = "the data do not tell the parameters apart where the fit came to";

/** Parameters tried, and how far the data are from them. */
interface Trial {
  readonly parameters: readonly number[];
  readonly residuals: readonly number[];
  readonly squares: number;
}

/**
 * @param start where to begin, one value for each parameter; a nearer one costs less
 * @returns the fit, or why there is none: no progress, or data that do not tell parameters apart
 * @throws RangeError for lengths that differ or fewer points than parameters
 */
export function fitCurve(
  curve: Curve,
  x: readonly number[],
  y: readonly number[],
  start: readonly number[],
): CurveFit | NoFit {
  if (x.length !== y.length || x.length < start.length) {
    throw new RangeError(
      `A fit of ${start.length} parameters needs as many points or more, each with x and y: got ${x.length} x, ${y.length} y.`,
    );
  }
  const attempt = (parameters: readonly number[]): Trial => {
    const residuals = x.map((one, at) => (y[at] ?? 0) - curve(parameters, one));
    return { parameters, residuals, squares: dot(residuals, residuals) };
  };
  const smallestSquares = ROUNDING ** 2 * dot(y, y);
  let now = attempt(start);
  if (!Number.isFinite(now.squares)) return { why: "the curve has no value at the start" };
  let scale = start.map(() => 0);
  let damping = DAMPING_START;
  for (let round = 0; round < ROUNDS_MAX; round += 1) {
    const jacobian = jacobianOf(curve, now.parameters, x);
    if (!jacobian.flat().every(Number.isFinite)) return { why: "the curve has no slope here" };
    const free = leastSquares(jacobian, now.residuals, SLOPE_ERROR);
    if (free !== null && (offsetOf(free, now) <= OFFSET_NEAR || now.squares <= smallestSquares)) {
      return finished(now, free, curve, x, attempt);
    }
    scale = jacobian.map((column, j) => Math.max(scale[j] ?? 0, Math.hypot(...column)));
    const better = betterTrial(now, jacobian, scale, damping, attempt);
    if (better === null) {
      return {
        why: free === null ? NOT_APART : "no step makes it better, and it is not at a minimum",
      };
    }
    now = better.trial;
    damping = better.damping;
  }
  return { why: `not at a minimum after ${ROUNDS_MAX} rounds` };
}

/** The first damped step, from this damping upwards, that lowers the sum of squares; null for none. */
function betterTrial(
  now: Trial,
  jacobian: Matrix,
  scale: readonly number[],
  from: number,
  attempt: (parameters: readonly number[]) => Trial,
): { readonly trial: Trial; readonly damping: number } | null {
  let growth = 2;
  for (let damping = from; damping <= DAMPING_MAX; damping *= growth, growth *= 2) {
    const step = dampedStep(jacobian, now.residuals, scale, damping);
    if (step === null) continue;
    const trial = attempt(stepped(now.parameters, step));
    if (!(trial.squares < now.squares)) continue;
    const taken = now.residuals.map((_, i) =>
      jacobian.reduce((sum, column, j) => sum + (column[i] ?? 0) * (step[j] ?? 0), 0),
    );
    const promised = 2 * dot(now.residuals, taken) - dot(taken, taken);
    const gain = (now.squares - trial.squares) / promised;
    return { trial, damping: damping * Math.max(1 / 3, 1 - (2 * gain - 1) ** 3) };
  }
  return null;
}

/** The step that a linear curve would need, held back by the damping in units of the scale. */
function dampedStep(
  jacobian: Matrix,
  residuals: readonly number[],
  scale: readonly number[],
  damping: number,
): readonly number[] | null {
  const held = jacobian.map((column, j) => [
    ...column,
    ...scale.map((one, k) => (k === j ? Math.sqrt(damping) * one : 0)),
  ]);
  const target = [...residuals, ...scale.map(() => 0)];
  return leastSquares(held, target)?.solution ?? null;
}

/** Slopes of the curve by each parameter at every x, from one step to either side. */
function jacobianOf(curve: Curve, parameters: readonly number[], x: readonly number[]): Matrix {
  return parameters.map((value, j) => {
    const step = SLOPE_STEP * (value === 0 ? 1 : Math.abs(value));
    const [above, below] = [parameters.with(j, value + step), parameters.with(j, value - step)];
    return x.map((one) => (curve(above, one) - curve(below, one)) / (2 * step));
  });
}

/** Undamped steps from near the minimum, for as long as they come nearer. */
function finished(
  near: Trial,
  free: LeastSquares,
  curve: Curve,
  x: readonly number[],
  attempt: (parameters: readonly number[]) => Trial,
): CurveFit {
  let [best, bestFree] = [near, free];
  for (let step = 0; step < FINISHING_STEPS_MAX; step += 1) {
    const next = attempt(stepped(best.parameters, bestFree.solution));
    const nextFree = leastSquares(
      jacobianOf(curve, next.parameters, x),
      next.residuals,
      SLOPE_ERROR,
    );
    if (nextFree === null || !(offsetOf(nextFree, next) < offsetOf(bestFree, best))) break;
    [best, bestFree] = [next, nextFree];
  }
  const { parameters, residuals, squares } = best;
  const dof = residuals.length - parameters.length;
  const variance = dof > 0 ? squares / dof : null;
  return {
    parameters,
    covariance:
      variance === null
        ? null
        : bestFree.cofactors.map((row) => row.map((value) => value * variance)),
    residualSquares: squares,
    residualSd: variance === null ? null : Math.sqrt(variance),
    dof,
  };
}

function offsetOf(free: LeastSquares, { parameters, residuals }: Trial): number {
  const dof = residuals.length - parameters.length;
  return Math.sqrt((free.explainedSquares * dof) / (free.residualSquares * parameters.length));
}

function stepped(parameters: readonly number[], step: readonly number[]): number[] {
  return parameters.map((one, j) => one + (step[j] ?? 0));
}

function dot(left: readonly number[], right: readonly number[]): number {
  return left.reduce((sum, one, at) => sum + one * (right[at] ?? 0), 0);
}
