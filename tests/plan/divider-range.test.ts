/** Divider ranges against worked figures, settling against the closed form of a charging capacitor. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { filterSettleMs, loadedVolts, readableRange } from "../../src/plan/divider-range.ts";

/** Source of the figures is named in the file. */
const figures: {
  readonly reference_v: number;
  readonly plain: readonly {
    readonly top_ohm: number;
    readonly bottom_ohm: number;
    readonly range_high_v: number;
    readonly step_mv: number;
  }[];
  readonly offset: readonly {
    readonly top_ohm: number;
    readonly bottom_ohm: number;
    readonly pull_up_ohm: number;
    readonly range_v: readonly [number, number];
    readonly step_mv: number;
  }[];
} = JSON.parse(
  readFileSync(join(import.meta.dirname, "../references/electronics/dividers.json"), "utf8"),
);

describe("readableRange(divider)", () => {
  it.each(figures.plain)(
    "of $top_ohm over $bottom_ohm begins at 0 V and ends one step below full scale",
    (row) => {
      const parts = { topOhm: row.top_ohm, bottomOhm: row.bottom_ohm, capacitorNf: 0 };
      const range = readableRange(parts, figures.reference_v);
      expect(range.lowV).toBeCloseTo(0, 9);
      expect(range.stepV * 1e3).toBeCloseTo(row.step_mv, 0);
      expect(Math.abs(range.highV + range.stepV - row.range_high_v)).toBeLessThan(0.06);
    },
  );

  it.each(figures.offset)(
    "of $top_ohm over $bottom_ohm with $pull_up_ohm up reaches below common",
    (row) => {
      const parts = {
        topOhm: row.top_ohm,
        bottomOhm: row.bottom_ohm,
        pullUpOhm: row.pull_up_ohm,
        capacitorNf: 0,
      };
      const range = readableRange(parts, figures.reference_v);
      expect(Math.abs(range.lowV - row.range_v[0])).toBeLessThan(0.06);
      expect(Math.abs(range.highV + range.stepV - row.range_v[1])).toBeLessThan(0.06);
      expect(Math.abs(range.stepV * 1e3 - row.step_mv)).toBeLessThan(0.06);
    },
  );
});

describe("filterSettleMs(divider)", () => {
  it("is five time constants: 1 M over 47 k with 33 nF has 1.481 ms", () => {
    // Time constant as tabled: 1 M parallel 47 k is 44.89 k, times 33 nF.
    const parts = { topOhm: 1e6, bottomOhm: 47e3, capacitorNf: 33 };
    expect(filterSettleMs(parts)).toBeCloseTo(5 * 1.481, 2);
  });

  it("counts the pull-up as one more way for the charge", () => {
    const parts = { topOhm: 220e3, bottomOhm: 22e3, pullUpOhm: 22e3, capacitorNf: 100 };
    // 10.48 k, as tabled for this row.
    expect(filterSettleMs(parts)).toBeCloseTo(5 * 1.048, 2);
  });

  it("is nothing without a capacitor", () => {
    expect(filterSettleMs({ topOhm: 1e6, bottomOhm: 1e5, capacitorNf: 0 })).toBe(0);
  });
});

describe("loadedVolts(source, divider)", () => {
  it("loses 16.97 % of a 47 k source to 220 k over 10 k", () => {
    const parts = { topOhm: 220e3, bottomOhm: 10e3, capacitorNf: 0 };
    expect(loadedVolts(100, 47e3, parts)).toBeCloseTo(100 - 16.97, 2);
  });

  it("loses nothing without a divider", () => {
    expect(loadedVolts(44, 10e3, null)).toBe(44);
  });
});
