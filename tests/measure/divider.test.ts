import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { codeForVolts, nodeVolts, rangeV, voltsPerCode } from "../../src/measure/divider.ts";

interface DividerFigures {
  reference_v: number;
  plain: { top_ohm: number; bottom_ohm: number; range_high_v: number; step_mv: number }[];
  offset: {
    top_ohm: number;
    bottom_ohm: number;
    pull_up_ohm: number;
    range_v: [number, number];
    step_mv: number;
    codes: [number, number][];
  }[];
  published_examples: { top_ohm: number; bottom_ohm: number; node_v: number; pin_v: number }[];
}

/** Source of each figure stands in the file. */
const figures: DividerFigures = JSON.parse(
  readFileSync(new URL("../references/electronics/dividers.json", import.meta.url), "utf8"),
);
const referenceV = figures.reference_v;

const anyDivider = fc.record({
  topOhm: fc.integer({ min: 10_000, max: 3_000_000 }),
  bottomOhm: fc.integer({ min: 1_000, max: 200_000 }),
  pullUpOhm: fc.option(fc.integer({ min: 1_000, max: 200_000 }), { nil: null }),
});

describe("a plain divider", () => {
  it.each(figures.plain)("$top_ohm over $bottom_ohm has the published range and step", (row) => {
    const divider = { topOhm: row.top_ohm, bottomOhm: row.bottom_ohm, pullUpOhm: null };
    expect(rangeV(divider, referenceV).lowV).toBe(0);
    expect(rangeV(divider, referenceV).highV).toBeCloseTo(row.range_high_v, 1);
    expect(voltsPerCode(divider, referenceV) * 1000).toBeCloseTo(row.step_mv, 1);
  });

  it.each(figures.published_examples)("reads $node_v V as $pin_v V at the pin", (row) => {
    const divider = { topOhm: row.top_ohm, bottomOhm: row.bottom_ohm, pullUpOhm: null };
    // The reference is chosen so that the pin is inside it; the ratio does not depend on it.
    const code = (1024 * row.pin_v) / 12;
    expect(nodeVolts(code, divider, 12)).toBeCloseTo(row.node_v, 1);
  });
});

describe("an offset divider", () => {
  for (const row of figures.offset) {
    const divider = {
      topOhm: row.top_ohm,
      bottomOhm: row.bottom_ohm,
      pullUpOhm: row.pull_up_ohm,
    };
    it(`${row.top_ohm}/${row.bottom_ohm}/${row.pull_up_ohm} has the published range and step`, () => {
      const range = rangeV(divider, referenceV);
      expect(range.lowV).toBeCloseTo(row.range_v[0], 1);
      expect(range.highV).toBeCloseTo(row.range_v[1], 1);
      expect(voltsPerCode(divider, referenceV) * 1000).toBeCloseTo(row.step_mv, 1);
    });

    it.each(row.codes)(
      `reads %d V as code %d (${row.top_ohm}/${row.bottom_ohm})`,
      (volts, code) => {
        expect(codeForVolts(volts, divider, referenceV, "down")).toBe(code);
        const backV = nodeVolts(code, divider, referenceV);
        expect(volts - backV).toBeGreaterThanOrEqual(0);
        expect((volts - backV) * 1000).toBeLessThan(row.step_mv);
      },
    );
  }

  it("keeps its code for 0 V when the reference moves, and scales its slope", () => {
    const divider = { topOhm: 220_000, bottomOhm: 22_000, pullUpOhm: 22_000 };
    expect(codeForVolts(0, divider, 5)).toBe(codeForVolts(0, divider, 4.5));
    expect(voltsPerCode(divider, 4.5)).toBeCloseTo(voltsPerCode(divider, 5) * 0.9, 12);
  });
});

describe("codeForVolts", () => {
  const divider = { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null };

  it("is undone by nodeVolts at every code of any divider", () => {
    fc.assert(
      fc.property(anyDivider, fc.integer({ min: 0, max: 1023 }), (one, code) => {
        const volts = nodeVolts(code, one, referenceV);
        for (const rounding of ["down", "nearest", "up"] as const) {
          expect(codeForVolts(volts, one, referenceV, rounding)).toBe(code);
        }
      }),
    );
  });

  it("rounds down, to the nearest and up", () => {
    // 55 V is full scale: 55/1024 V a step, so 14 V lies at 260.65 steps.
    expect(codeForVolts(14, divider, 5, "down")).toBe(260);
    expect(codeForVolts(14, divider, 5, "nearest")).toBe(261);
    expect(codeForVolts(14, divider, 5, "up")).toBe(261);
    expect(codeForVolts(14.02, divider, 5, "nearest")).toBe(261);
    expect(codeForVolts(13.98, divider, 5, "nearest")).toBe(260);
    expect(codeForVolts(13.98, divider, 5, "up")).toBe(261);
  });

  it("is clamped to what the converter can say", () => {
    expect(codeForVolts(-30, divider, 5)).toBe(0);
    expect(codeForVolts(300, divider, 5)).toBe(1023);
  });

  it("rises with volts", () => {
    fc.assert(
      fc.property(
        anyDivider,
        fc.double({ min: -60, max: 60, noNaN: true }),
        fc.double({ min: 0, max: 20, noNaN: true }),
        (one, volts, moreV) => {
          expect(codeForVolts(volts + moreV, one, 5)).toBeGreaterThanOrEqual(
            codeForVolts(volts, one, 5),
          );
        },
      ),
    );
  });

  it.each([Number.NaN, Number.POSITIVE_INFINITY])("refuses %d volts", (volts) => {
    expect(() => codeForVolts(volts, divider, 5)).toThrow(RangeError);
  });
});

describe("a divider that cannot be", () => {
  it.each([
    { topOhm: 0, bottomOhm: 100_000, pullUpOhm: null },
    { topOhm: 1_000_000, bottomOhm: -1, pullUpOhm: null },
    { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: 0 },
    { topOhm: Number.NaN, bottomOhm: 100_000, pullUpOhm: null },
  ])("is refused: %o", (divider) => {
    expect(() => nodeVolts(1, divider, 5)).toThrow(/above 0/);
    expect(() => voltsPerCode(divider, 5)).toThrow(/above 0/);
  });

  it("is refused with a reference of 0 V, or a code that is no number", () => {
    const divider = { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null };
    expect(() => nodeVolts(1, divider, 0)).toThrow(/referenceV/);
    expect(() => nodeVolts(Number.NaN, divider, 5)).toThrow(/finite mean code/);
  });
});
