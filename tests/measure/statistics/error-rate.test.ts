import { describe, expect, it } from "vitest";
import { binomialAtMost } from "../../../src/measure/statistics/binomial.ts";
import { errorsByCycle, mtbfBounds } from "../../../src/measure/statistics/error-rate.ts";
import newcombe from "../../references/statistics/proportion-newcombe-1998-table-1.json" with {
  type: "json",
};

describe("time between errors", () => {
  it("has a lower end alone without errors", () => {
    const { estimate, interval, lower } = mtbfBounds({ errors: 0, hours: 1000 });
    expect([estimate, interval.high]).toEqual([null, Number.POSITIVE_INFINITY]);
    expect(lower).toBeCloseTo(-1000 / Math.log(0.05), 6);
  });

  it("says less where the last failure ended the test", () => {
    const planned = mtbfBounds({ errors: 2, hours: 800 });
    const ended = mtbfBounds({ errors: 2, hours: 800, stoppedBy: "error" });
    // 2T by chi-square of 4 rather than 6 degrees of freedom: 9.488 and 12.592 at 95 % (NIST 1.3.6.7.4).
    expect(planned.lower).toBeCloseTo(1600 / 12.592, 2);
    expect(ended.lower).toBeCloseTo(1600 / 9.488, 1);
    expect(ended.interval.high).toBe(planned.interval.high);
  });

  it("refuses what is no count of hours", () => {
    for (const [errors, hours] of [
      [-1, 5],
      [1, 0],
      [0.5, 5],
      [1, Number.POSITIVE_INFINITY],
    ] as const) {
      expect(() => mtbfBounds({ errors, hours })).toThrow(RangeError);
    }
  });
});

describe("errors by cycle", () => {
  it("has the two-sided limits of Newcombe 1998, Table I", () => {
    for (const { successes, trials, clopper_pearson } of newcombe.certified.rows) {
      const { interval, estimate } = errorsByCycle({ errors: successes, cycles: trials });
      expect([interval.low.toFixed(4), interval.high.toFixed(4)]).toEqual(clopper_pearson);
      expect(estimate).toBe(successes / trials);
    }
  });

  it("says of none in n what a success run says: 2995 clean cycles show less than 1 in 1000", () => {
    expect(errorsByCycle({ errors: 0, cycles: 2995 }).upper).toBeLessThan(0.001);
    expect(errorsByCycle({ errors: 0, cycles: 2994 }).upper).toBeGreaterThan(0.001);
    expect(errorsByCycle({ errors: 0, cycles: 50 }, 0.9).upper).toBeCloseTo(
      1 - 0.1 ** (1 / 50),
      14,
    );
  });

  it("is the rate at which so few errors have the chance that is left, up to millions of cycles", () => {
    for (const [errors, cycles] of [
      [1, 1_000_000],
      [12, 86_400],
      [3, 7],
    ] as const) {
      const { upper } = errorsByCycle({ errors, cycles }, 0.95);
      expect(binomialAtMost(errors, cycles, upper)).toBeCloseTo(0.05, 4);
    }
  });

  it("counts inversely where the last error ended the counting", () => {
    const { upper } = errorsByCycle({ errors: 3, cycles: 500, stoppedBy: "error" });
    // The third error comes at cycle 500 or later: two or fewer in 499.
    expect(binomialAtMost(2, 499, upper)).toBeCloseTo(0.05, 6);
    expect(upper).toBeLessThan(errorsByCycle({ errors: 3, cycles: 500 }).upper);
    expect(errorsByCycle({ errors: 1, cycles: 1, stoppedBy: "error" }).upper).toBe(1);
  });
});
