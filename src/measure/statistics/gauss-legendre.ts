/**
 * Nodes and weights of Gauss-Legendre quadrature, by Newton's method on the Legendre polynomials
 * (Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 25.4.29 and 22.16.6).
 */

export interface Quadrature {
  readonly nodes: readonly number[];
  readonly weights: readonly number[];
}

const NEWTON_STEPS = 8;

/** For the interval from -1 to 1; exact for polynomials of degree 2 `count` - 1. */
export function gaussLegendre(count: number): Quadrature {
  if (!(Number.isSafeInteger(count) && count > 0)) {
    throw new RangeError(`A quadrature needs one node or more, got ${count}.`);
  }
  const nodes: number[] = [];
  const weights: number[] = [];
  for (let at = 0; at < count; at += 1) {
    let x = -Math.cos((Math.PI * (at + 0.75)) / (count + 0.5));
    for (let step = 0; step < NEWTON_STEPS; step += 1) {
      const { value, slope } = legendre(count, x);
      x -= value / slope;
    }
    nodes.push(x);
    weights.push(2 / ((1 - x * x) * legendre(count, x).slope ** 2));
  }
  return { nodes, weights };
}

/** The same for any interval. */
export function quadratureOver(low: number, high: number, count: number): Quadrature {
  const { nodes, weights } = gaussLegendre(count);
  const [middle, half] = [(low + high) / 2, (high - low) / 2];
  return {
    nodes: nodes.map((x) => middle + half * x),
    weights: weights.map((weight) => half * weight),
  };
}

function legendre(degree: number, x: number): { readonly value: number; readonly slope: number } {
  let [before, value] = [1, x];
  for (let n = 2; n <= degree; n += 1) {
    [before, value] = [value, ((2 * n - 1) * x * value - (n - 1) * before) / n];
  }
  return { value, slope: (degree * (x * value - before)) / (x * x - 1) };
}
