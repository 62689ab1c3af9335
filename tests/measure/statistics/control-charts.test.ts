import { describe, expect, it } from "vitest";
import type { CusumState } from "../../../src/measure/statistics/cusum-chart.ts";
import { cusumAlarm, cusumStart, cusumStep } from "../../../src/measure/statistics/cusum-chart.ts";
import type { EwmaState } from "../../../src/measure/statistics/ewma-chart.ts";
import {
  EWMA_START,
  ewmaAlarm,
  ewmaLimit,
  ewmaStep,
} from "../../../src/measure/statistics/ewma-chart.ts";
import cusum from "../../references/statistics/control-cusum-nist-6-3-2-3.json" with {
  type: "json",
};
import ewma from "../../references/statistics/control-ewma-nist-6-3-2-4.json" with { type: "json" };

function states<State>(
  start: State,
  residuals: readonly number[],
  step: (before: State, residual: number) => State,
): State[] {
  let state = start;
  return residuals.map((residual) => {
    state = step(state, residual);
    return state;
  });
}

const ewmaStates = (lambda: number, residuals: readonly number[]): EwmaState[] =>
  states(EWMA_START, residuals, (before, residual) => ewmaStep({ lambda }, before, residual));
const cusumStates = (k: number, residuals: readonly number[]): CusumState[] =>
  states(cusumStart(), residuals, (before, residual) => cusumStep({ k }, before, residual));

describe("EWMA chart, NIST/SEMATECH 6.3.2.4", () => {
  const { x, lambda, start, sigma, k } = ewma.data;
  const chart = { lambda, limitSd: k };
  const found = ewmaStates(
    lambda,
    x.map((value) => (value - start) / sigma),
  );

  it("prints the twenty averages", () => {
    const printed = [EWMA_START, ...found].map(({ average }) =>
      (start + sigma * average).toFixed(2),
    );
    expect(printed).toEqual(ewma.certified.ewma_0_to_20);
  });

  it("has its settled limits, and no point outside them", () => {
    const limit = sigma * ewmaLimit(chart);
    // The page cuts its lower limit off: compared to a unit of the last digit.
    expect(Math.abs(start + limit - Number(ewma.certified.ucl))).toBeLessThan(1e-4);
    expect(Math.abs(start - limit - Number(ewma.certified.lcl))).toBeLessThan(1e-4);
    expect((ewmaLimit(chart) / k).toFixed(4)).toBe(ewma.certified.factor_printed);
    const outside = found.filter(({ average }) => Math.abs(average) > ewmaLimit(chart));
    expect(String(outside.length)).toBe(ewma.certified.out_of_limit_points);
  });
});

describe("EWMA chart", () => {
  it("has as its exact limit the deviation of a sum of weights", () => {
    const chart = { lambda: 0.2, limitSd: 3 };
    for (const count of [1, 2, 7, 40]) {
      const weights = Array.from({ length: count }, (_, age) => 0.2 * 0.8 ** age);
      expect(ewmaLimit(chart, count)).toBeCloseTo(3 * Math.hypot(...weights), 12);
    }
    expect(ewmaLimit(chart, 0)).toBe(0);
    expect(ewmaLimit(chart, 500)).toBeCloseTo(ewmaLimit(chart), 12);
  });

  it("alarms on the side that the average strays to, by the limit of its count", () => {
    const chart = { lambda: 0.2, limitSd: 3 };
    const alarms = (residuals: readonly number[]) =>
      ewmaStates(0.2, residuals).map((state) => ewmaAlarm(chart, state));
    // A lone residual alarms beyond three of its own deviations, whatever the weight.
    expect(alarms([2.99])).toEqual([null]);
    expect(alarms([3.01])).toEqual(["high"]);
    expect(alarms([-3.01])).toEqual(["low"]);
    expect(alarms([1.5, 1.5, 1.5, 1.5, 1.5, 1.5]).lastIndexOf(null)).toBe(3);
    expect(ewmaAlarm(chart, EWMA_START)).toBeNull();
  });
});

describe("CUSUM chart, NIST/SEMATECH 6.3.2.3", () => {
  const { group_means, target, k, h } = cusum.data;
  const found = cusumStates(
    k,
    group_means.map((mean) => mean - target),
  );

  it("has both sums of all twenty groups", () => {
    const { exact_4dp: exact } = cusum.certified;
    expect(found.map(({ high }) => high.toFixed(4))).toEqual(exact.s_hi);
    expect(found.map(({ low }) => low.toFixed(4))).toEqual(exact.s_lo);
  });

  it("alarms at the groups that the page names, and takes the change to begin after the twelfth", () => {
    const alarms = found.filter((state) => cusumAlarm({ h }, state) !== null);
    expect(alarms.map(({ count }) => String(count))).toEqual(cusum.certified.signal_groups);
    expect(new Set(alarms.map((state) => cusumAlarm({ h }, state)))).toEqual(
      new Set([cusum.certified.signal_side]),
    );
    expect(alarms[0]?.highSince).toBe(12);
    expect(alarms[0]?.lowSince).toBe(14);
  });
});

describe("CUSUM chart", () => {
  it("mirrors", () => {
    const residuals = [0.4, -2, 3, 1.2, -0.6, -4, -4];
    const one = cusumStates(0.5, residuals);
    const other = cusumStates(
      0.5,
      residuals.map((residual) => -residual),
    );
    expect(one.map(({ high, highSince }) => [high, highSince])).toEqual(
      other.map(({ low, lowSince }) => [low, lowSince]),
    );
    const last = one.at(-1) ?? cusumStart();
    expect(cusumAlarm({ h: 4 }, last)).toBe("low");
    expect(cusumAlarm({ h: 7.1 }, last)).toBeNull();
  });

  it("starts ahead, and falls back where nothing is wrong", () => {
    const ahead = cusumStep({ k: 0.5 }, cusumStart(2), 0);
    expect(ahead).toEqual({ count: 1, high: 1.5, low: 1.5, highSince: 0, lowSince: 0 });
  });
});

it("charts refuse what was not read", () => {
  for (const residual of [Number.NaN, Number.POSITIVE_INFINITY]) {
    expect(() => ewmaStep({ lambda: 0.2 }, EWMA_START, residual)).toThrow(/not read/);
    expect(() => cusumStep({ k: 0.5 }, cusumStart(), residual)).toThrow(/not read/);
  }
});
