import { describe, expect, it } from "vitest";
import { leastSquares } from "../../../src/measure/statistics/least-squares.ts";
import { sizeAlong } from "../../../src/verdict/drift/fit-level.ts";
import { RecursiveFit } from "../../../src/verdict/drift/recursive-fit.ts";
import { quickChance } from "../../bench/uncertainty/quick-chance.ts";

const ROWS = 60;
/** So little known beforehand that least squares without any knowledge must agree. */
const NOTHING_KNOWN = 1e4;

function made(seed: string) {
  const chance = quickChance(seed);
  const ones = new Float64Array(ROWS).fill(1);
  const rail = Float64Array.from({ length: ROWS }, () => chance.normal());
  const line = Float64Array.from({ length: ROWS }, (_, row) => row / (ROWS - 1));
  const noise = Float64Array.from({ length: ROWS }, () => chance.normal());
  return { ones, rail, line, noise };
}

function knowing(sd: number): Float64Array {
  return Float64Array.of(sd ** 2, 0, 0, sd ** 2);
}

describe("recursive fit", () => {
  const { ones, rail, line, noise } = made("fit");
  const values = noise.map((one, row) => 3 + 2 * (rail[row] ?? 0) + 5 * (line[row] ?? 0) + one);

  it("ends in what orthogonal least squares finds", () => {
    const { coefficients } = new RecursiveFit([ones, rail], knowing(NOTHING_KNOWN)).follow(values);
    const whole = leastSquares([[...ones], [...rail]], [...values]);
    expect(coefficients[0]).toBeCloseTo(whole?.solution[0] ?? Number.NaN, 5);
    expect(coefficients[1]).toBeCloseTo(whole?.solution[1] ?? Number.NaN, 5);
  });

  it("finds the slope, and its doubt, of a line that least squares has as one more column", () => {
    const fit = new RecursiveFit([ones, rail], knowing(NOTHING_KNOWN));
    const along = sizeAlong(fit.follow(values).innovations, fit.follow(line).innovations);
    const whole = leastSquares([[...ones], [...rail], [...line]], [...values]);
    expect(along.size).toBeCloseTo(whole?.solution[2] ?? Number.NaN, 5);
    expect(along.sd).toBeCloseTo(Math.sqrt(whole?.cofactors[2]?.[2] ?? Number.NaN), 5);
  });

  it("has squares of innovations that sum to the residual squares of the whole", () => {
    // Brown, Durbin and Evans 1975, lemma 2: the sums of squares are equal once all unknowns are known.
    const fit = new RecursiveFit([ones, rail], knowing(NOTHING_KNOWN));
    const { innovations } = fit.follow(values);
    const whole = leastSquares([[...ones], [...rail]], [...values]);
    const sum = innovations.subarray(2).reduce((all, one) => all + one * one, 0);
    expect(sum).toBeCloseTo(whole?.residualSquares ?? Number.NaN, 3);
  });

  it("has innovations of mean 0, deviation 1 and no memory where nothing drifts", () => {
    let [sum, squares, products, count] = [0, 0, 0, 0];
    for (let seed = 0; seed < 200; seed += 1) {
      const one = made(`quiet ${seed}`);
      const fit = new RecursiveFit([one.ones, one.rail], knowing(NOTHING_KNOWN));
      const { innovations } = fit.follow(one.noise.map((v, row) => v + 7 * (one.rail[row] ?? 0)));
      for (let row = 3; row < ROWS; row += 1) {
        const now = innovations[row] ?? Number.NaN;
        sum += now;
        squares += now * now;
        products += now * (innovations[row - 1] ?? Number.NaN);
        count += 1;
      }
    }
    // Four standard deviations of each estimate.
    expect(Math.abs(sum / count)).toBeLessThan(4 / Math.sqrt(count));
    expect(Math.abs(squares / count - 1)).toBeLessThan(4 * Math.sqrt(2 / count));
    expect(Math.abs(products / count)).toBeLessThan(4 / Math.sqrt(count));
  });

  it("stays with what was known where the values say nothing", () => {
    const still = new Float64Array(ROWS);
    const { coefficients } = new RecursiveFit([ones, still], knowing(1)).follow(values);
    expect(coefficients[1]).toBe(0);
  });
});
