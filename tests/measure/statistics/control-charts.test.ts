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

  it("takes the change to begin after the last group at zero: the twelfth in NIST/SEMATECH 6.3.2.3", () => {
    const { group_means, target, k, h } = cusum.data;
    const alarms = cusumStates(
      k,
      group_means.map((mean) => mean - target),
    ).filter((state) => cusumAlarm({ h }, state) !== null);
    expect(new Set(alarms.map(({ highSince }) => highSince))).toEqual(new Set([12]));
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
