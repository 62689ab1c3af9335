import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { MinMaxSeries } from "../../../src/record/page/min-max-series.ts";

const readings = fc.array(
  fc.record({
    gapMs: fc.integer({ min: 0, max: 90_000 }),
    value: fc.integer({ min: -50, max: 50 }),
  }),
  { minLength: 1, maxLength: 1200, size: "max" },
);

/** Moments and values as they would come, in order. */
function inTime(steps: readonly { readonly gapMs: number; readonly value: number }[]) {
  let ms = 0;
  return steps.map(({ gapMs, value }) => {
    ms += gapMs;
    return { ms, value };
  });
}

function seriesOf(values: readonly { readonly ms: number; readonly value: number }[]) {
  const series = new MinMaxSeries();
  for (const { ms, value } of values) series.take(ms, value);
  return series;
}

describe("MinMaxSeries", () => {
  it("keeps few readings one by one", () => {
    const series = seriesOf([
      { ms: 0, value: 3 },
      { ms: 250, value: -1 },
    ]);
    expect(series.columns()).toMatchObject([
      { fromMs: 0, toMs: 0, low: 3, high: 3 },
      { fromMs: 250, toMs: 250, low: -1, high: -1 },
    ]);
  });

  it("stays bounded and loses no excursion, however many readings come", () => {
    fc.assert(
      fc.property(readings, (steps) => {
        const values = inTime(steps);
        const columns = seriesOf(values).columns();
        expect(columns.length).toBeLessThanOrEqual(480);
        for (const { ms, value } of values) {
          const own = columns.find(({ fromMs, toMs }) => fromMs <= ms && ms <= toMs);
          expect(own).toBeDefined();
          expect(own?.low).toBeLessThanOrEqual(value);
          expect(own?.high).toBeGreaterThanOrEqual(value);
        }
        const lows = columns.map(({ low }) => low);
        expect(Math.min(...lows)).toBe(Math.min(...values.map(({ value }) => value)));
        expect(
          columns.every(({ fromMs }, at) => at === 0 || fromMs > (columns[at - 1]?.toMs ?? 0)),
        ).toBe(true);
      }),
      { numRuns: 15, endOnFailure: true },
    );
  });

  it("draws nothing that was not read: each end of a column is a reading in it", () => {
    fc.assert(
      fc.property(readings, (steps) => {
        const values = inTime(steps);
        for (const { fromMs, toMs, low, high } of seriesOf(values).columns()) {
          const inside = values.filter(({ ms }) => fromMs <= ms && ms <= toMs);
          expect(inside.some(({ value }) => value === low)).toBe(true);
          expect(inside.some(({ value }) => value === high)).toBe(true);
        }
      }),
      { numRuns: 15, endOnFailure: true },
    );
  });
});
