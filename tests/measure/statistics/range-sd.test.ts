/** The table of range factors against published ones, against integration, and against chance. */
import { describe, expect, it } from "vitest";
import { coverageFactor } from "../../../src/measure/statistics/effective-dof.ts";
import { sdFromRange } from "../../../src/measure/statistics/range-sd.ts";
import { seededChance } from "../../bench/seeded-chance.ts";
import published from "../../references/statistics/range-d2-d3.json" with { type: "json" };
import { decimalsOf } from "./printed.ts";

const STEP = 0.02;
const REACH = 8;
const GRID = Array.from({ length: (2 * REACH) / STEP + 1 }, (_, at) => at * STEP - REACH);
const DENSITY = GRID.map((x) => Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI));
/** The normal's distribution on the grid: the integral of its density, Simpson's rule cell by cell. */
const BELOW = (() => {
  const below = [0];
  for (let at = 1; at < GRID.length; at += 1) {
    const middle = ((GRID[at - 1] ?? 0) + (GRID[at] ?? 0)) / 2;
    const inner = Math.exp((-middle * middle) / 2) / Math.sqrt(2 * Math.PI);
    const cell = (STEP / 6) * ((DENSITY[at - 1] ?? 0) + 4 * inner + (DENSITY[at] ?? 0));
    below.push((below[at - 1] ?? 0) + cell);
  }
  return below;
})();

/**
 * Mean and deviation of the range of n standard normals from its distribution function,
 * P(W <= w) = n * integral of f(x) (F(x + w) - F(x))^(n-1): Tippett's, not the density the table is from.
 */
function rangeMoments(n: number): { d2: number; d3: number } {
  let mean = 0;
  let square = 0;
  for (let shift = 0; shift < 12 / STEP; shift += 1) {
    let within = 0;
    for (let at = 0; at < GRID.length; at += 1) {
      const above = BELOW[at + shift] ?? 1;
      within += n * (DENSITY[at] ?? 0) * (above - (BELOW[at] ?? 0)) ** (n - 1) * STEP;
    }
    // E W = integral of 1 - P, E W^2 = integral of 2 w (1 - P); trapezoids, half weight at w = 0.
    mean += (1 - within) * STEP * (shift === 0 ? 0.5 : 1);
    square += 2 * shift * STEP * (1 - within) * STEP;
  }
  return { d2: mean, d3: Math.sqrt(square - mean * mean) };
}

/** Mean of chi over the root of its degrees of freedom, from ln gamma by Stirling's series. */
function meanOfChi(dof: number): number {
  const lnGamma = (x: number): number =>
    x < 12
      ? lnGamma(x + 1) - Math.log(x)
      : (x - 0.5) * Math.log(x) - x + Math.log(2 * Math.PI) / 2 + 1 / (12 * x) - 1 / (360 * x ** 3);
  return Math.sqrt(2 / dof) * Math.exp(lnGamma((dof + 1) / 2) - lnGamma(dof / 2));
}

describe("sdFromRange", () => {
  it.each([2, 3, 4, 5, 8, 16, 33, 64])("integrates to the factors for %d values", (n) => {
    const { d2, d3 } = rangeMoments(n);
    const { sd, dof } = sdFromRange(1, n);
    expect(1 / sd).toBeCloseTo(Math.hypot(d2, d3), 3);
    // Mean and deviation of the stand-in are those of the range.
    expect(meanOfChi(dof)).toBeCloseTo(d2 / Math.hypot(d2, d3), 4);
  });

  // The published rows are from memory, see the file; the integration above does not lean on them.
  it("agrees with the published factors in scale", () => {
    published.certified.d2.forEach((d2, at) => {
      const n = published.data.first_n + at;
      const d3 = Number(published.certified.d3[at]);
      expect(1 / sdFromRange(1, n).sd).toBeCloseTo(Math.hypot(Number(d2), d3), 2.8);
      const moments = rangeMoments(n);
      expect(moments.d2).toBeCloseTo(Number(d2), 2.8);
      expect(moments.d3).toBeCloseTo(d3, 2.8);
    });
  });

  it.each(published.certified.patnaik)("has d2* $d2_star and $dof at n = $n", (row) => {
    const { sd, dof } = sdFromRange(1, row.n);
    expect(Math.abs(1 / sd - Number(row.d2_star))).toBeLessThan(1.2e-5);
    expect(dof.toFixed(decimalsOf(row.dof))).toBe(row.dof);
  });

  it("is the ordinary deviation of two values", () => {
    expect(sdFromRange(3, 2)).toEqual({ sd: 3 / Math.SQRT2, dof: 1 });
  });

  it("rises in scale and in degrees of freedom with every further value", () => {
    for (let n = 3; n <= 64; n += 1) {
      expect(sdFromRange(1, n).sd).toBeLessThan(sdFromRange(1, n - 1).sd);
      const gained = sdFromRange(1, n).dof - sdFromRange(1, n - 1).dof;
      expect(gained).toBeGreaterThan(0.2);
      expect(gained).toBeLessThan(1);
    }
  });

  it.each([2, 3, 8, 64])(
    "makes intervals that hold the mean of %d values as often as they say",
    (n) => {
      const chance = seededChance(`range ${n}`);
      const normal = () =>
        Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance());
      const trials = Math.round(60_000 / n);
      let held = 0;
      for (let trial = 0; trial < trials; trial += 1) {
        const sample = Array.from({ length: n }, normal);
        const mean = sample.reduce((sum, x) => sum + x, 0) / n;
        const { sd, dof } = sdFromRange(Math.max(...sample) - Math.min(...sample), n);
        if (Math.abs(mean) <= (coverageFactor(dof) * sd) / Math.sqrt(n)) held += 1;
      }
      const expected = 0.95 * trials;
      expect(Math.abs(held - expected)).toBeLessThan(3.5 * Math.sqrt(trials * 0.95 * 0.05));
    },
  );

  it("refuses counts it has no factor for, and ranges that are none", () => {
    for (const n of [0, 1, 65, 2.5, Number.NaN]) {
      expect(() => sdFromRange(1, n)).toThrow(/2 to 64 values/);
    }
    for (const range of [-1, Number.NaN]) {
      expect(() => sdFromRange(range, 8)).toThrow(/zero or more/);
    }
    expect(sdFromRange(0, 8).sd).toBe(0);
  });
});
