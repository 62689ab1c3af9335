import { describe, expect, it } from "vitest";
import { gaussLegendre, quadratureOver } from "../../../src/measure/statistics/gauss-legendre.ts";

describe("Gauss-Legendre quadrature", () => {
  it("has the three nodes of Abramowitz and Stegun, table 25.4", () => {
    const { nodes, weights } = gaussLegendre(3);
    [-Math.sqrt(3 / 5), 0, Math.sqrt(3 / 5)].forEach((node, at) => {
      expect(nodes[at]).toBeCloseTo(node, 14);
    });
    [5 / 9, 8 / 9, 5 / 9].forEach((weight, at) => {
      expect(weights[at]).toBeCloseTo(weight, 14);
    });
  });

  it("integrates polynomials up to degree 2 n - 1, and a normal by 40 nodes", () => {
    const { nodes, weights } = quadratureOver(1, 3, 5);
    const integral = nodes.reduce((sum, x, at) => sum + (weights[at] ?? 0) * x ** 9, 0);
    expect(integral).toBeCloseTo((3 ** 10 - 1) / 10, 8);
    const wide = quadratureOver(-8, 8, 40);
    const normal = wide.nodes.reduce(
      (sum, x, at) => sum + (wide.weights[at] ?? 0) * Math.exp((-x * x) / 2),
      0,
    );
    expect(normal).toBeCloseTo(Math.sqrt(2 * Math.PI), 10);
  });

  it("refuses no nodes", () => {
    expect(() => gaussLegendre(0)).toThrow(RangeError);
  });
});
