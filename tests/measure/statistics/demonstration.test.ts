import { describe, expect, it } from "vitest";
import { binomialAtMost } from "../../../src/measure/statistics/binomial.ts";
import {
  cyclesToSee,
  cyclesToShow,
  testTimeFactor,
} from "../../../src/measure/statistics/demonstration.ts";
import demonstration from "../../references/statistics/reliability-demonstration-nist-8-3-1.json" with {
  type: "json",
};

const { certified } = demonstration;

describe("cycles to run", () => {
  it.each(certified.success_run.rows)("success run: R $R with $confidence takes $n", (row) => {
    const [rate, confidence] = [1 - Number(row.R), Number(row.confidence)];
    expect(cyclesToShow({ rate, confidence, errorsAllowed: 0 })).toBe(Number(row.n));
    expect(cyclesToSee(rate, confidence)).toBe(Number(row.n));
  });

  it("sees a one-in-1000 error with 95 % chance in 2995 cycles", () => {
    expect(cyclesToSee(1 / 1000)).toBe(2995);
    expect(cyclesToSee(0.5, 0.75)).toBe(2);
  });

  it("is the fewest with which the allowed errors are unlikely enough", () => {
    for (const errorsAllowed of [0, 1, 2, 5]) {
      const wish = { rate: 1 / 1000, confidence: 0.95, errorsAllowed };
      const cycles = cyclesToShow(wish);
      expect(binomialAtMost(errorsAllowed, cycles, wish.rate)).toBeLessThanOrEqual(0.05);
      expect(binomialAtMost(errorsAllowed, cycles - 1, wish.rate)).toBeGreaterThan(0.05);
      // By the clock it is the test time factor, as rare errors come like a Poisson process.
      expect(cycles / 1000).toBeCloseTo(testTimeFactor(0.95, errorsAllowed), 2);
    }
  });

  it("refuses parts that are none", () => {
    expect(() => cyclesToSee(0)).toThrow(/rate/);
    expect(() => cyclesToSee(0.1, 1)).toThrow(/chance/);
    expect(() => cyclesToShow({ rate: 0.1, confidence: 0.9, errorsAllowed: -1 })).toThrow(/count/);
    expect(() => testTimeFactor(0.9, 0.5)).toThrow(/count/);
  });
});
