import { describe, expect, it } from "vitest";
import { mannKendall } from "../../../src/measure/statistics/mann-kendall.ts";
import { theilSen } from "../../../src/measure/statistics/theil-sen.ts";
import { timeToLimit } from "../../../src/measure/statistics/time-to-limit.ts";
import g9s from "../../references/statistics/trend-mann-kendall-epa-g9s.json" with { type: "json" };
import sulfate from "../../references/statistics/trend-theil-sen-epa-ug-17-6.json" with {
  type: "json",
};

describe("Mann-Kendall test", () => {
  it("has the p of the EPA examples, recomputed for the first", () => {
    expect(mannKendall(g9s.data.y).p).toBeCloseTo(0.091998, 6);
    const { p } = mannKendall(sulfate.data.y);
    expect(p / Number(sulfate.certified.p_two_sided)).toBeCloseTo(1, 6);
  });

  it("is exact for few values: all orders counted one by one", () => {
    const orders = (left: readonly number[]): number[][] =>
      left.length === 0
        ? [[]]
        : left.flatMap((one) =>
            orders(left.filter((other) => other !== one)).map((rest) => [one, ...rest]),
          );
    const all = orders([1, 2, 3, 4, 5, 6]).map((values) => mannKendall(values));
    for (const { s, p } of all) {
      const asFar = all.filter((other) => Math.abs(other.s) >= Math.abs(s)).length;
      expect(p).toBeCloseTo(asFar / all.length, 12);
    }
  });

  it("gives the normal's answer where counting ends", () => {
    // Rises with every fifth value out of order.
    const values = Array.from({ length: 30 }, (_, at) => (at % 5 === 0 ? 60 - at : at));
    const exact = mannKendall(values);
    const normal = mannKendall([...values, 31]);
    expect(Math.abs(exact.p - normal.p)).toBeLessThan(0.05);
    expect(mannKendall([...values].reverse()).s).toBe(-exact.s);
  });

  it("says nothing of values that are all equal", () => {
    expect(mannKendall([3, 3, 3, 3])).toMatchObject({ s: 0, z: 0, p: 1, variance: 0 });
  });

  it("refuses what is no series", () => {
    expect(() => mannKendall([1])).toThrow(RangeError);
    expect(() => mannKendall([1, Number.NaN, 2])).toThrow(/finite/);
  });
});

describe("Theil-Sen slope", () => {
  it("is the line itself for points on a line, whatever two of them do", () => {
    const t = Array.from({ length: 12 }, (_, at) => at + 0.25 * (at % 2));
    const y = t.map((time) => 5 - 0.5 * time);
    y[3] = 400;
    y[7] = -90;
    const { slope, low, high, intercept } = theilSen({ t, y });
    expect(slope).toBeCloseTo(-0.5, 12);
    expect(intercept).toBeCloseTo(5, 12);
    expect(low).toBeLessThanOrEqual(slope);
    expect(high).toBeGreaterThanOrEqual(slope);
  });

  it("leaves the interval open where the points are too few for it", () => {
    expect(theilSen({ t: [0, 1, 2], y: [0, 1, 2] })).toMatchObject({
      slope: 1,
      low: Number.NEGATIVE_INFINITY,
      high: Number.POSITIVE_INFINITY,
    });
  });

  it("refuses times that do not rise, and too many points", () => {
    expect(() => theilSen({ t: [0, 0], y: [1, 2] })).toThrow(/rise/);
    expect(() => theilSen({ t: [0, 1], y: [1] })).toThrow(/points/);
    expect(() => theilSen({ t: [0, Number.NaN], y: [1, 2] })).toThrow(/rise/);
    const many = Array.from({ length: 2001 }, (_, at) => at);
    expect(() => theilSen({ t: many, y: many })).toThrow(/2000/);
  });
});

describe("time until a limit", () => {
  it("is room by slope, earliest by the steep end, latest by the flat one", () => {
    expect(timeToLimit(4, 3, { slope: -0.1, low: -0.2, high: -0.05 })).toEqual({
      expected: 10,
      earliest: 5,
      latest: 20,
    });
    expect(timeToLimit(3, 4, { slope: 0.1, low: 0.05, high: 0.2 })).toEqual({
      expected: 10,
      earliest: 5,
      latest: 20,
    });
  });

  it("is never where the slope leads away, or where it may be none", () => {
    expect(timeToLimit(4, 3, { slope: -0.1, low: -0.2, high: 0.01 })).toEqual({
      expected: 10,
      earliest: 5,
      latest: Number.POSITIVE_INFINITY,
    });
    expect(timeToLimit(4, 3, { slope: 0.1, low: 0, high: 0.2 })).toEqual({
      expected: Number.POSITIVE_INFINITY,
      earliest: Number.POSITIVE_INFINITY,
      latest: Number.POSITIVE_INFINITY,
    });
    // An open interval: at once, or never.
    expect(
      timeToLimit(4, 3, {
        slope: -1,
        low: Number.NEGATIVE_INFINITY,
        high: Number.POSITIVE_INFINITY,
      }),
    ).toEqual({ expected: 1, earliest: 0, latest: Number.POSITIVE_INFINITY });
  });

  it("is now where the limit is reached", () => {
    expect(timeToLimit(3, 3, { slope: 0.1, low: 0, high: 0.2 }).expected).toBe(0);
  });
});
