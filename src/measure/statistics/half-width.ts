/**
 * The interval that holds 95 % of a sum of which one term is rectangular and the rest is bell-shaped.
 *
 * A coverage factor of 2 is too wide where one bounded term rules (EA-4/02 gives 1.65 for it alone), and
 * right where none does. The sum of a rectangular term of half-width a and a normal one of standard
 * deviation u lies within h of its middle with probability (1 / a) times the integral of 2 Phi(x / u) - 1
 * over h - a .. h + a, halved; it is closed in Phi and phi, and h is found by halving.
 */
import { normalCdf, normalPdf, normalQuantile, studentQuantile } from "./quantiles.ts";

const COVERAGE = 0.95;
const TAIL_P = 0.5 + COVERAGE / 2;
/** Halvings: to one part in 1e12 of the widest it can be. */
const HALVINGS = 44;

export interface SumOfTwo {
  /** Half-width of the rectangular term; 0 for none. */
  readonly rectangularV: number;
  /** Standard uncertainty of the rest; 0 for none. */
  readonly restV: number;
  /** Its degrees of freedom; a rest estimated from few values counts wider by Student's t. */
  readonly restDof: number;
}

/** @returns half-width for 95 %, in the unit of both; 0 when there is nothing to be uncertain of */
export function halfWidth95({ rectangularV, restV, restDof }: SumOfTwo): number {
  const widened = restV * (studentQuantile(TAIL_P, restDof) / normalQuantile(TAIL_P));
  if (widened === 0) return COVERAGE * rectangularV;
  if (rectangularV === 0) return widened * normalQuantile(TAIL_P);
  let low = 0;
  let high = rectangularV + widened * normalQuantile(TAIL_P);
  for (let turn = 0; turn < HALVINGS; turn += 1) {
    const middle = (low + high) / 2;
    if (within(middle, rectangularV, widened) < COVERAGE) low = middle;
    else high = middle;
  }
  return high;
}

/** Probability that the sum is within h of its middle. */
function within(h: number, a: number, u: number): number {
  return (u / a) * (areaOfPhi((h + a) / u) - areaOfPhi((h - a) / u)) - 1;
}

/** Integral of Phi from minus infinity. */
function areaOfPhi(z: number): number {
  return z * normalCdf(z) + normalPdf(z);
}
