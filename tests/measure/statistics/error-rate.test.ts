import { describe, expect, it } from "vitest";
import { binomialAtMost } from "../../../src/measure/statistics/binomial.ts";
import { errorsByCycle, mtbfBounds } from "../../../src/measure/statistics/error-rate.ts";
import mtbf from "../../references/statistics/mtbf-limits-nist-8-4-5-1.json" with { type: "json" };
import newcombe from "../../references/statistics/proportion-newcombe-1998-table-1.json" with {
  type: "json",
};

describe("time between errors, NIST/SEMATECH 8.4.5.1", () => {
  const { data, certified } = mtbf;

  it("has the worked example: 2 failures in 800 h", () => {
    const { total_test_hours: hours, failures: errors, confidence_two_sided } = data.example;
    const { estimate, interval } = mtbfBounds({ errors, hours }, confidence_two_sided);
    expect(estimate).toBe(Number(certified.example.mtbf_estimate));
    expect(interval.low.toFixed(4)).toBe(certified.example.lower_90);
    expect(interval.high.toFixed(3)).toBe(certified.example.upper_90);
  });

  it.each(certified.factors.rows)("has the factors for $failures failures", (row) => {
    for (const level of ["60", "80", "90", "95"] as const) {
      const hours = 1000 * row.failures;
      const { interval } = mtbfBounds({ errors: row.failures, hours }, Number(level) / 100);
      expect((interval.low / 1000).toFixed(4)).toBe(row[`lower_${level}`]);
      expect((interval.high / 1000).toFixed(4)).toBe(row[`upper_${level}`]);
    }
  });

  it("has a lower end alone without failures", () => {
    for (const [name, factor] of Object.entries(certified.zero_failure_factors_of_T)) {
      const confidence = Number(name.replace("one_sided_", "")) / 100;
      const { estimate, lower, interval } = mtbfBounds({ errors: 0, hours: 1 }, confidence);
      expect(lower.toFixed(4)).toBe(factor);
      expect([estimate, interval.high]).toEqual([null, Number.POSITIVE_INFINITY]);
    }
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
