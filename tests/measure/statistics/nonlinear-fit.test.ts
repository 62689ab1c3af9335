/** What a fit does where there is none to be had; where there is, see certified.test.ts. */
import { describe, expect, it } from "vitest";
import { type Curve, fitCurve } from "../../../src/measure/statistics/nonlinear-fit.ts";

const settling: Curve = ([end = 0, swing = 0, rate = 0], x) => end + swing * Math.exp(-rate * x);
const x = [0, 1, 2, 3, 4, 6, 8, 12];

describe("fitCurve", () => {
  it("finds a level that settles without noise, to the last digits", () => {
    const truth = [-3.2, 14, 0.37];
    const fit = fitCurve(
      settling,
      x,
      x.map((one) => settling(truth, one)),
      [0, 1, 1],
    );
    if ("why" in fit) throw new Error(fit.why);
    fit.parameters.forEach((found, at) => {
      expect(found).toBeCloseTo(truth[at] ?? Number.NaN, 9);
    });
    expect(fit.dof).toBe(5);
    expect(fit.residualSd).toBeLessThan(1e-9);
  });

  it("goes through as many points as parameters, and knows nothing of its doubt", () => {
    const three = [0, 2, 5];
    const truth = [1, 2, 0.5];
    const fit = fitCurve(
      settling,
      three,
      three.map((one) => settling(truth, one)),
      [0.5, 1, 1],
    );
    expect(fit).toMatchObject({ covariance: null, residualSd: null, dof: 0 });
    if ("why" in fit) throw new Error(fit.why);
    fit.parameters.forEach((found, at) => {
      expect(found).toBeCloseTo(truth[at] ?? Number.NaN, 6);
    });
  });

  it("gives no parameters where the data do not tell them apart", () => {
    const sum: Curve = ([a = 0, b = 0], one) => (a + b) * one;
    const fit = fitCurve(sum, [1, 2, 3], [1.1, 2, 2.9], [0.5, 0.4]);
    expect(fit).toEqual({ why: expect.stringContaining("do not tell the parameters apart") });
  });

  it("gives none for a curve without a value or a slope where it starts", () => {
    const logarithm: Curve = ([a = 0], one) => Math.log(a) * one;
    expect(fitCurve(logarithm, [1, 2], [1, 2], [-1])).toEqual({
      why: expect.stringContaining("no value at the start"),
    });
    const step: Curve = ([a = 0], one) => (one > a ? 1 : 0);
    expect(fitCurve(step, [1, 2, 3], [0, 0, 1], [1.5])).toHaveProperty("why");
  });

  it("says so when it runs away instead of ending", () => {
    // Best at an infinite rate: the sum of squares falls for ever.
    const fit = fitCurve(settling, [0, 1, 2, 3], [5, 1, 1, 1.0001], [1, 1, 1]);
    expect(fit).toHaveProperty("why");
  });

  it("refuses fewer points than parameters", () => {
    expect(() => fitCurve(settling, [1, 2], [1, 2], [1, 1, 1])).toThrow(/got 2 x, 2 y/);
    expect(() => fitCurve(settling, [1, 2, 3], [1, 2], [1, 1, 1])).toThrow(RangeError);
  });
});
