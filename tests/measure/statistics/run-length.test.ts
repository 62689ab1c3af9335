import { describe, expect, it } from "vitest";
import {
  cusumAlarmChance,
  cusumLimitFor,
  cusumRunLength,
  cusumRunLengthHigh,
} from "../../../src/measure/statistics/cusum-run-length.ts";
import {
  ewmaAlarmChance,
  ewmaLimitSdFor,
  ewmaRunLength,
} from "../../../src/measure/statistics/ewma-run-length.ts";
import { normalCdf, normalQuantile } from "../../../src/measure/statistics/quantiles.ts";
import { alarmChance, averageRunLength } from "../../../src/measure/statistics/run-length.ts";
import ewma from "../../references/statistics/arl-ewma.json" with { type: "json" };
import { decimalsOf } from "./printed.ts";
import type { RunLengthRow } from "./run-length-tables.ts";
import { cusumTables, ewmaTables } from "./run-length-tables.ts";

/** One unit of the last printed digit: the prints come of coarser chains, or are rounded up. */
function expectRow(found: number, { printed, computed }: RunLengthRow): void {
  expect(Math.abs(found - Number(printed))).toBeLessThanOrEqual(10 ** -decimalsOf(printed));
  if (computed !== null) expect(found / Number(computed)).toBeCloseTo(1, 5);
}

describe("average run lengths against published tables", () => {
  it.each(ewmaTables())("EWMA, $name", ({ chart, rows }) => {
    for (const row of rows) {
      expectRow(ewmaRunLength(chart, { shift: row.shift, limits: "settled" }), row);
    }
  });

  it.each(cusumTables())("CUSUM, $name", ({ chart, sides, headStart, rows }) => {
    const runLength = sides === "one" ? cusumRunLengthHigh : cusumRunLength;
    for (const row of rows) expectRow(runLength(chart, { shift: row.shift, headStart }), row);
  });

  it("EWMA in control for 370", () => {
    const rows = ewma.certified.in_control_370;
    const settled = { limits: "settled" } as const;
    expect(ewmaRunLength({ lambda: 0.2, limitSd: 2.86 }, settled)).toBeCloseTo(
      Number(rows["lambda0.2_L2.860"]),
      3,
    );
    expect(ewmaRunLength({ lambda: 0.1, limitSd: 2.703 }, settled)).toBeCloseTo(
      Number(rows["lambda0.1_L2.703"]),
      3,
    );
  });
});

describe("run lengths in closed form", () => {
  it("is one in the normal's tails for a chart without memory", () => {
    const tails = 2 * normalCdf(-3);
    for (const limits of ["exact", "settled"] as const) {
      const chart = { lambda: 1, limitSd: 3 };
      expect(ewmaRunLength(chart, { limits }) * tails).toBeCloseTo(1, 9);
      expect(ewmaAlarmChance(chart, 100, { limits })).toBeCloseTo(1 - (1 - tails) ** 100, 10);
    }
  });

  it("gives the first residual the chance that a normal has, as exact limits promise", () => {
    for (const lambda of [0.05, 0.2, 0.6]) {
      expect(ewmaAlarmChance({ lambda, limitSd: 2.5 }, 1)).toBeCloseTo(2 * normalCdf(-2.5), 12);
    }
    expect(cusumAlarmChance({ k: 0.5, h: 2 }, 1)).toBeCloseTo(2 * normalCdf(-2.5), 12);
    expect(cusumAlarmChance({ k: 0.5, h: 2 }, 1, { shift: 4 })).toBeCloseTo(
      normalCdf(1.5) + normalCdf(-6.5),
      12,
    );
  });

  it("alarms sooner with exact limits than with settled ones", () => {
    const chart = { lambda: 0.1, limitSd: 2.814 };
    for (const shift of [0, 1, 3]) {
      expect(ewmaRunLength(chart, { shift })).toBeLessThan(
        ewmaRunLength(chart, { shift, limits: "settled" }),
      );
    }
  });

  it("sums a geometric run length", () => {
    function* constant(): Generator<number> {
      for (;;) yield 0.25;
    }
    expect(averageRunLength(constant())).toBeCloseTo(4, 12);
    expect(alarmChance(constant(), 3)).toBeCloseTo(1 - 0.75 ** 3, 12);
    expect(alarmChance(constant(), 100_000)).toBe(1);
    expect(averageRunLength([0.5, 1])).toBeCloseTo(1.5, 12);
    expect(alarmChance([0.5, 1], 5)).toBe(1);
  });

  it("refuses no points, and a chart that never settles", () => {
    function* never(): Generator<number> {
      for (;;) yield 0;
    }
    expect(() => averageRunLength(never())).toThrow(/not settled/);
    for (const points of [0, -1, 1.5, Number.NaN, 1e9]) {
      expect(() => alarmChance(never(), points)).toThrow(RangeError);
    }
  });
});

describe("limits for a wanted chance of a false alarm", () => {
  it.each([
    { lambda: 0.1, points: 60, chance: 1e-3 },
    { lambda: 0.3, points: 144, chance: 1e-5 },
  ])("EWMA: lambda $lambda, $points residuals, $chance", ({ lambda, points, chance }) => {
    const limitSd = ewmaLimitSdFor({ lambda, points, chance });
    expect(ewmaAlarmChance({ lambda, limitSd }, points) / chance).toBeCloseTo(1, 3);
  });

  it.each([
    { k: 0.5, points: 60, chance: 1e-3 },
    { k: 0.25, points: 2000, chance: 0.05 },
    { k: 1, points: 5, chance: 0.2 },
  ])("CUSUM: k $k, $points residuals, $chance", ({ k, points, chance }) => {
    const h = cusumLimitFor({ k, points, chance });
    expect(cusumAlarmChance({ k, h }, points) / chance).toBeCloseTo(1, 3);
  });

  it("is the normal's own for one residual", () => {
    expect(ewmaLimitSdFor({ lambda: 0.2, points: 1, chance: 0.01 })).toBe(normalQuantile(0.995));
  });

  it("refuses charts and chances that are none", () => {
    for (const chance of [0, 1, -1, Number.NaN]) {
      expect(() => ewmaLimitSdFor({ lambda: 0.2, points: 10, chance })).toThrow(RangeError);
      expect(() => cusumLimitFor({ k: 0.5, points: 10, chance })).toThrow(RangeError);
    }
    expect(() => ewmaRunLength({ lambda: 0, limitSd: 3 })).toThrow(/lambda/);
    expect(() => ewmaRunLength({ lambda: 0.2, limitSd: 0 })).toThrow(/limit/);
    expect(() => cusumRunLength({ k: 0.5, h: 0 })).toThrow(/CUSUM/);
    expect(() => cusumRunLength({ k: 0.5, h: 4 }, { headStart: 5 })).toThrow(/start/);
  });
});
