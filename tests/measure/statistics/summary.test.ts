import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { summarise } from "../../../src/measure/statistics/summary.ts";

describe("summarise", () => {
  it("summarises a sample that can be done by hand", () => {
    // Deviations -3 -1 1 3: squares 20, neighbours' products 3 - 1 + 3.
    expect(summarise([2, 4, 6, 8])).toEqual({ n: 4, mean: 5, sd: Math.sqrt(20 / 3), lag1: 0.25 });
  });

  it("calls neighbours that swing about a level opposed", () => {
    expect(summarise([1, -1, 1, -1, 1, -1]).lag1).toBeCloseTo(-5 / 6, 12);
  });

  it("finds no deviation among equal values", () => {
    expect(summarise([0.1, 0.1, 0.1])).toEqual({ n: 3, mean: 0.1, sd: 0, lag1: 0 });
  });

  it("keeps the deviation of codes whatever level they stand on", () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 1023 }), { minLength: 2, maxLength: 64 }),
        fc.integer({ min: -(2 ** 40), max: 2 ** 40 }),
        (codes, level) => {
          const [plain, lifted] = [summarise(codes), summarise(codes.map((one) => one + level))];
          expect(lifted.sd).toBeCloseTo(plain.sd, 9);
          expect(lifted.lag1).toBeCloseTo(plain.lag1, 9);
        },
      ),
    );
  });

  it("does not tire over a long night of readings", () => {
    // A running sum of a million tenths is off in its twelfth digit.
    const { mean, sd } = summarise(Array.from({ length: 1_000_000 }, () => 0.1));
    expect([mean, sd]).toEqual([0.1, expect.closeTo(0, 15)]);
  });

  it("refuses what has no deviation", () => {
    expect(() => summarise([])).toThrow(/two values or more, got 0/);
    expect(() => summarise([1])).toThrow(RangeError);
    expect(() => summarise([1, Number.NaN])).toThrow(/finite/);
    expect(() => summarise([1, Number.POSITIVE_INFINITY])).toThrow(/finite/);
  });
});
