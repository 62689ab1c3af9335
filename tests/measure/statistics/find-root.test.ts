import { describe, expect, it } from "vitest";
import { findRoot } from "../../../src/measure/statistics/find-root.ts";

describe("findRoot(f, ends)", () => {
  it("finds a crossing, rising or falling, steep or flat", () => {
    expect(findRoot((x) => x * x - 2, [0, 2])).toBeCloseTo(Math.SQRT2, 11);
    expect(findRoot((x) => Math.cos(x), [0, 3])).toBeCloseTo(Math.PI / 2, 11);
    expect(findRoot((x) => Math.expm1(50 * (x - 0.9)), [0, 1])).toBeCloseTo(0.9, 10);
    expect(findRoot((x) => (x - 0.3) ** 9, [0, 1])).toBeCloseTo(0.3, 10);
  });

  it("takes an end that is the root", () => {
    expect(findRoot((x) => x - 1, [1, 5])).toBe(1);
    expect(findRoot((x) => x - 5, [1, 5])).toBe(5);
  });

  it("refuses ends on one side, and what has no value", () => {
    expect(() => findRoot((x) => x + 1, [0, 5])).toThrow(/No crossing/);
    expect(() => findRoot(() => Number.NaN, [0, 5])).toThrow(RangeError);
  });
});
