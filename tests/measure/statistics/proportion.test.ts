import { describe, expect, it } from "vitest";
import { exactInterval, wilsonInterval } from "../../../src/measure/statistics/proportion.ts";
import newcombe from "../../references/statistics/proportion-newcombe-1998-table-1.json" with {
  type: "json",
};

describe("proportion intervals, Newcombe 1998 Table I", () => {
  it.each(newcombe.certified.rows)("$successes of $trials", (row) => {
    const { successes, trials, computed } = row;
    const wilson = wilsonInterval(successes, trials);
    const exact = exactInterval(successes, trials);
    expect([wilson.low.toFixed(4), wilson.high.toFixed(4)]).toEqual(row.wilson);
    expect([exact.low.toFixed(4), exact.high.toFixed(4)]).toEqual(row.clopper_pearson);
    [wilson.low, wilson.high].forEach((end, at) => {
      expect(end).toBeCloseTo(Number(computed.wilson[at]), 7);
    });
    [exact.low, exact.high].forEach((end, at) => {
      expect(end).toBeCloseTo(Number(computed.clopper_pearson[at]), 7);
    });
  });

  it("mirrors: what is known of hits is known of misses", () => {
    for (const interval of [wilsonInterval, exactInterval]) {
      for (const [hits, trials] of [
        [0, 20],
        [1, 29],
        [15, 148],
        [20, 20],
      ] as const) {
        const { low, high } = interval(hits, trials);
        const mirrored = interval(trials - hits, trials);
        expect(mirrored.low).toBeCloseTo(1 - high, 8);
        expect(mirrored.high).toBeCloseTo(1 - low, 8);
      }
    }
  });

  it("says 3/n about none in n at one-sided 95 %, the rule of three", () => {
    expect(exactInterval(0, 1000, 0.9).high).toBeCloseTo(1 - 0.05 ** (1 / 1000), 9);
    expect(exactInterval(0, 1000, 0.9).high * 1000).toBeCloseTo(3, 1);
  });

  it("refuses counts that are none", () => {
    for (const [hits, trials] of [
      [0, 0],
      [-1, 5],
      [6, 5],
      [0.5, 5],
      [1, Number.NaN],
    ] as const) {
      expect(() => wilsonInterval(hits, trials)).toThrow(RangeError);
      expect(() => exactInterval(hits, trials)).toThrow(RangeError);
    }
  });
});
