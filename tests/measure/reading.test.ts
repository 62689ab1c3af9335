import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { PlannedChannel } from "../../src/events/plan.ts";
import { noReading, singleCode, toReading } from "../../src/measure/reading.ts";

const plain: PlannedChannel = {
  name: "Q",
  number: 7,
  reads: { kind: "net", net: "Q" },
  divider: { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null },
  referenceV: 5,
};
const offset: PlannedChannel = {
  name: "bias.board",
  number: 4,
  reads: { kind: "rail", rail: "bias", at: "board" },
  divider: { topOhm: 220_000, bottomOhm: 22_000, pullUpOhm: 22_000 },
  referenceV: 5,
};

function codes(channel: string, list: readonly number[]) {
  return {
    channel,
    sum: list.reduce((sum, code) => sum + code, 0),
    count: list.length,
    min: Math.min(...list),
    max: Math.max(...list),
  };
}

describe("toReading", () => {
  it("gives volts from the mean code and keeps the raw sums", () => {
    // 55 V full scale over 1024 steps: a mean of 512 is 27.5 V.
    const reading = toReading(codes("Q", [511, 512, 513]), plain, false);
    expect(reading).toEqual({
      channel: "Q",
      volts: 27.5,
      noReading: null,
      sum: 1536,
      count: 3,
      min: 511,
      max: 513,
    });
  });

  it("reads a negative rail through an offset divider", () => {
    // Published code of the divider for -20 V; references/electronics/dividers.json.
    const reading = toReading(singleCode("bias.board", 292), offset, false);
    expect(reading.volts).toBeGreaterThan(-20.1);
    expect(reading.volts).toBeLessThanOrEqual(-20);
  });

  it("is clipped by a single code at the upper end, whatever the mean", () => {
    expect(toReading(codes("Q", [900, 1023, 900]), plain, true)).toMatchObject({
      volts: null,
      noReading: "clipped",
    });
    expect(toReading(codes("Q", [900, 1022, 900]), plain, true).noReading).toBeNull();
  });

  it("is clipped by a code at 0 on an offset divider, proved lead or not", () => {
    for (const proved of [true, false]) {
      expect(toReading(codes("bias.board", [0, 3, 5]), offset, proved)).toMatchObject({
        volts: null,
        noReading: "clipped",
      });
    }
  });

  it("gives no reading at 0 on a plain divider until the lead is proved", () => {
    expect(toReading(codes("Q", [0, 0]), plain, false)).toMatchObject({
      volts: null,
      noReading: "lead not proved",
    });
    expect(toReading(codes("Q", [0, 1]), plain, false).noReading).toBe("lead not proved");
    expect(toReading(codes("Q", [0, 0]), plain, true)).toMatchObject({ volts: 0, noReading: null });
    expect(toReading(codes("Q", [1, 1]), plain, false).noReading).toBeNull();
  });

  it.each([
    ["no conversions", { sum: 0, count: 0, min: 0, max: 0 }],
    ["a sum below what its extremes allow", { sum: 402, count: 4, min: 100, max: 110 }],
    ["a sum above what its extremes allow", { sum: 431, count: 4, min: 100, max: 110 }],
    ["extremes the wrong way round", { sum: 210, count: 2, min: 110, max: 100 }],
    ["one conversion with two codes", { sum: 105, count: 1, min: 100, max: 110 }],
    ["one conversion with another sum", { sum: 101, count: 1, min: 100, max: 100 }],
    ["a code beyond 10 bits", { sum: 2048, count: 2, min: 1024, max: 1024 }],
    ["a negative code", { sum: 9, count: 2, min: -1, max: 10 }],
    ["half a code", { sum: 200.5, count: 2, min: 100, max: 101 }],
    ["no number", { sum: Number.NaN, count: 2, min: 100, max: 101 }],
  ])("is torn by %s", (_, raw) => {
    expect(toReading({ channel: "Q", ...raw }, plain, true)).toMatchObject({
      volts: null,
      noReading: "torn",
    });
  });

  it("takes the sums of any real list of codes as whole", () => {
    const list = fc.array(fc.integer({ min: 1, max: 1022 }), { minLength: 1, maxLength: 64 });
    fc.assert(
      fc.property(list, (some) => {
        expect(toReading(codes("Q", some), plain, false).noReading).toBeNull();
      }),
    );
  });

  it("has volts exactly when it has no reason against them", () => {
    const raw = fc.record({
      channel: fc.constant("Q"),
      sum: fc.integer({ min: -5, max: 70_000 }),
      count: fc.integer({ min: 0, max: 64 }),
      min: fc.integer({ min: -1, max: 1024 }),
      max: fc.integer({ min: -1, max: 1024 }),
    });
    fc.assert(
      fc.property(raw, fc.boolean(), (one, proved) => {
        const reading = toReading(one, plain, proved);
        expect(reading.volts === null).toBe(reading.noReading !== null);
      }),
    );
  });

  it("refuses codes of another channel", () => {
    expect(() => toReading(singleCode("QN", 5), plain, true)).toThrow(/channel Q, got QN/);
  });
});

describe("noReading", () => {
  it("names its reason and holds no volts", () => {
    expect(noReading("Q", "stale")).toMatchObject({
      channel: "Q",
      volts: null,
      noReading: "stale",
      count: 0,
    });
  });
});
