import { describe, expect, it } from "vitest";
import { eachOf, mostCrowded, runsOf } from "../../../src/measure/statistics/crowding.ts";
import { equalParts, partOf } from "../../../src/measure/statistics/equal-parts.ts";

describe("mostCrowded(bins, parts)", () => {
  it("is the part with the least exact chance", () => {
    const bins = [
      { exposure: 50, count: 1 },
      { exposure: 25, count: 3 },
      { exposure: 25, count: 4 },
    ];
    // Seven or more of eight in half of it: 9 in 256.
    expect(mostCrowded(bins, runsOf(3))).toMatchObject({ from: 1, to: 2, inside: 7, total: 8 });
    expect(mostCrowded(bins, runsOf(3))?.chance).toBeCloseTo(9 / 256, 12);
    // Alone, four or more of eight in a quarter.
    expect(mostCrowded(bins, eachOf(3))).toMatchObject({ from: 2, to: 2, inside: 4, share: 0.25 });
  });

  it("looks at every run but the whole", () => {
    expect(runsOf(6)).toHaveLength(20);
    expect(runsOf(1)).toEqual([]);
    expect(eachOf(1)).toEqual([]);
  });

  it("has no answer without anything that happened, and refuses what happened nowhere", () => {
    expect(mostCrowded([{ exposure: 5, count: 0 }], runsOf(2))).toBeNull();
    expect(mostCrowded([], [])).toBeNull();
    expect(() => mostCrowded([{ exposure: 0, count: 1 }], [])).toThrow(RangeError);
    expect(() => mostCrowded([{ exposure: Number.NaN, count: 1 }], [])).toThrow(RangeError);
  });
});

describe("equalParts(values, parts)", () => {
  it("cuts where the weight is, between values", () => {
    const values = [4, 1, 3, 2, 5, 6].map((value) => ({ value, weight: 10 }));
    expect(equalParts(values, 3)).toEqual({ edges: [2.5, 4.5], weights: [20, 20, 20] });
    expect(equalParts(values, 6).weights).toEqual([10, 10, 10, 10, 10, 10]);
  });

  it("never parts what is alike, and has fewer parts where there is no more", () => {
    const alike = Array.from({ length: 9 }, () => ({ value: 1, weight: 1 }));
    expect(equalParts(alike, 4)).toEqual({ edges: [], weights: [9] });
    expect(equalParts([...alike, { value: 2, weight: 1 }], 4)).toEqual({
      edges: [1.5],
      weights: [9, 1],
    });
    expect(equalParts([], 4).edges).toEqual([]);
  });

  it("finds a value its part, the ends open", () => {
    expect([-9, 2.4, 2.5, 99].map((value) => partOf([2.5, 4.5], value))).toEqual([0, 0, 1, 2]);
  });
});
