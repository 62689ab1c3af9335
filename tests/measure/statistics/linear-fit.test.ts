import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { leastSquares } from "../../../src/measure/statistics/least-squares.ts";
import { fitPolynomial, valueOfFit } from "../../../src/measure/statistics/linear-fit.ts";

describe("fitPolynomial", () => {
  it("puts a line through two points, and knows nothing of its doubt", () => {
    const fit = fitPolynomial({ x: [0, 4], y: [1, 9] }, 1);
    expect(fit.coefficients[0]).toBeCloseTo(1, 12);
    expect(fit.coefficients[1]).toBeCloseTo(2, 12);
    expect(fit).toMatchObject({ covariance: null, residualSd: null, dof: 0 });
    expect(valueOfFit(fit, 2)).toEqual({ value: expect.closeTo(5, 12), u: null });
  });

  it("carries the uncertainty of two points to the line between and beyond them", () => {
    // By hand: at a share s of the way the value is (1 - s) y1 + s y2.
    const [u1, u2] = [0.01, 0.03];
    const fit = fitPolynomial({ x: [1, 5], y: [2, 4], u: [u1, u2] }, 1);
    for (const x of [-3, 1, 2, 5, 9]) {
      const s = (x - 1) / 4;
      const { value, u } = valueOfFit(fit, x);
      expect(value).toBeCloseTo(2 + 2 * s, 12);
      expect(u).toBeCloseTo(Math.hypot((1 - s) * u1, s * u2), 12);
    }
  });

  it("states the textbook's deviations for points of one weight", () => {
    const x = [1, 2, 3, 4, 5];
    const y = [1.1, 1.9, 3.2, 3.8, 5.1];
    // Sxx 10, Sxy 9.9, mean y 3.02: slope 0.99, offset 0.05; residuals' squares 0.107 by hand.
    const { coefficients, covariance, residualSd, dof } = fitPolynomial({ x, y }, 1);
    expect(coefficients.map((one) => Number(one.toFixed(10)))).toEqual([0.05, 0.99]);
    const variance = 0.107 / 3;
    expect(dof).toBe(3);
    expect(residualSd).toBeCloseTo(Math.sqrt(variance), 10);
    expect(covariance?.[1]?.[1]).toBeCloseTo(variance / 10, 10);
    expect(covariance?.[0]?.[0]).toBeCloseTo(variance * (1 / 5 + 9 / 10), 10);
    expect(covariance?.[0]?.[1]).toBeCloseTo((-variance * 3) / 10, 10);
  });

  it("weighs points by their uncertainty: one of none moves the mean by nothing", () => {
    const { coefficients, covariance } = fitPolynomial(
      { x: [0, 1, 2], y: [1, 3, 100], u: [0.1, 0.2, 1e6] },
      0,
    );
    // Weights 100 and 25.
    expect(coefficients[0]).toBeCloseTo((100 * 1 + 25 * 3) / 125, 6);
    expect(covariance?.[0]?.[0]).toBeCloseTo(1 / 125, 9);
  });

  it("does not let scatter change an uncertainty that was given", () => {
    const x = [0, 1, 2, 3];
    const u = [0.5, 0.5, 0.5, 0.5];
    const quiet = fitPolynomial({ x, y: [0, 1, 2, 3], u }, 1);
    const wild = fitPolynomial({ x, y: [0, 5, -3, 3], u }, 1);
    expect(wild.covariance).toEqual(quiet.covariance);
    // Residuals in units of u: far above 1 says that u was stated too small.
    expect(quiet.residualSd).toBeCloseTo(0, 10);
    expect(wild.residualSd).toBeGreaterThan(5);
  });

  it("finds any cubic again from its own points", () => {
    const coefficient = fc.double({ min: -10, max: 10, noNaN: true });
    fc.assert(
      fc.property(fc.array(coefficient, { minLength: 4, maxLength: 4 }), (cubic) => {
        const x = [-2, -1, 0, 0.5, 1, 2, 3];
        const y = x.map((one) => cubic.reduce((sum, c, power) => sum + c * one ** power, 0));
        fitPolynomial({ x, y }, 3).coefficients.forEach((found, at) => {
          expect(found).toBeCloseTo(cubic[at] ?? Number.NaN, 9);
        });
      }),
    );
  });

  it("refuses points that cannot carry the curve, and says what to do", () => {
    expect(() => fitPolynomial({ x: [2, 2], y: [1, 1.1] }, 1)).toThrow(
      "needs points at 2 different x, got 1. Take a point elsewhere.",
    );
    expect(() => fitPolynomial({ x: [1], y: [1] }, 1)).toThrow(RangeError);
    expect(() => fitPolynomial({ x: [1, 2], y: [1] }, 1)).toThrow(/2 x, 1 y/);
    expect(() => fitPolynomial({ x: [1, 2], y: [1, 2], u: [1] }, 1)).toThrow(/1 u/);
    expect(() => fitPolynomial({ x: [1, 2], y: [1, Number.NaN] }, 1)).toThrow(/finite/);
    expect(() => fitPolynomial({ x: [1, 2], y: [1, 2], u: [1, 0] }, 1)).toThrow(/positive, got 0/);
    // Different to a double, and not to a fit.
    const near = [1e9, 1e9 + 1e-6, 1e9 + 2e-6];
    expect(() => fitPolynomial({ x: near, y: [1, 2, 3] }, 1)).toThrow(/spread them/);
  });
});

describe("leastSquares", () => {
  it("splits a target into what the columns account for and what is left", () => {
    const found = leastSquares([[1, 1, 1, 1]], [1, 2, 3, 6]);
    expect(found?.solution[0]).toBeCloseTo(3, 12);
    expect(found?.cofactors[0]?.[0]).toBeCloseTo(1 / 4, 12);
    expect(found?.explainedSquares).toBeCloseTo(36, 12);
    expect(found?.residualSquares).toBeCloseTo(14, 12);
  });

  it("tells columns that are one another's multiple or nothing, whatever their units", () => {
    const column = [1, 2, 3, 5];
    const multiple = column.map((one) => one * 3e-12);
    expect(leastSquares([column, multiple], [1, 1, 1, 1])).toBeNull();
    expect(leastSquares([column, [0, 0, 0, 0]], [1, 1, 1, 1])).toBeNull();
    expect(leastSquares([column, [1e-12, 0, 0, 0]], [1, 1, 1, 1])).not.toBeNull();
  });

  it("refuses fewer rows than unknowns", () => {
    expect(() => leastSquares([[1], [2]], [1])).toThrow(RangeError);
    expect(() => leastSquares([], [1])).toThrow(RangeError);
    expect(() => leastSquares([[1, 2]], [1])).toThrow(RangeError);
  });
});
