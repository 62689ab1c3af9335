/**
 * The calibration line that JCGM 100:2008 works in H.3: a thermometer against a better one, table H.6 and
 * the results below it. Data and results from memory; that they reproduce each other is what vouches for them.
 */
import { describe, expect, it } from "vitest";
import { fitPolynomial, valueOfFit } from "../../src/measure/statistics/linear-fit.ts";

/** Degrees Celsius as read, and the correction found there. */
const TABLE = [
  [21.521, -0.171],
  [22.012, -0.169],
  [22.512, -0.166],
  [23.003, -0.159],
  [23.507, -0.164],
  [23.999, -0.165],
  [24.513, -0.156],
  [25.002, -0.157],
  [25.503, -0.159],
  [26.01, -0.161],
  [26.511, -0.16],
] as const;
/** The line is told about 20 degrees. */
const ABOUT = 20;

describe("the calibration line of JCGM 100:2008, H.3", () => {
  const x = TABLE.map(([read]) => read - ABOUT);
  const y = TABLE.map(([, correction]) => correction);
  const fit = fitPolynomial({ x, y }, 1);
  const [[uu = 0, uv = 0] = [], [, vv = 0] = []] = fit.covariance ?? [];

  it("has intercept and slope with their deviations, and scatters as printed", () => {
    const [intercept, slope] = fit.coefficients;
    expect(intercept?.toFixed(4)).toBe("-0.1712");
    expect(slope?.toFixed(5)).toBe("0.00218");
    expect(Math.sqrt(uu).toFixed(4)).toBe("0.0029");
    expect(Math.sqrt(vv).toFixed(5)).toBe("0.00067");
    expect((uv / Math.sqrt(uu * vv)).toFixed(3)).toBe("-0.930");
    expect(fit.residualSd?.toFixed(4)).toBe("0.0035");
    expect(fit.dof).toBe(9);
  });

  it("tells the correction at 30 degrees, outside its points, with the covariance counted", () => {
    const { value, u } = valueOfFit(fit, 30 - ABOUT);
    expect(value.toFixed(4)).toBe("-0.1494");
    expect(u?.toFixed(4)).toBe("0.0041");
  });
});
