import { describe, expect, it } from "vitest";
import { alarmCharts } from "../../../src/verdict/drift/alarm-charts.ts";
import { chartLimits, limitSd, limitSoFar } from "../../../src/verdict/drift/chances.ts";
import { quickChance } from "../../bench/uncertainty/quick-chance.ts";

const HOURS = 12;

function hoursOf(values: readonly number[]) {
  return values.map((u, hour) => ({ hour, u }));
}

describe("charts of a night", () => {
  it("let healthy hours pass, both charts of two levels, in all but 52 of 100 000 nights or so", () => {
    const limits = chartLimits(2, HOURS);
    const nights = 20_000;
    let alarms = 0;
    for (let night = 0; night < nights; night += 1) {
      const chance = quickChance(`charts ${night}`);
      const hours = hoursOf(Array.from({ length: HOURS }, () => chance.normal()));
      if (alarmCharts(hours, limits).alarms.length > 0) alarms += 1;
    }
    // One level has half of 0.004 x (0.05 + 0.08): 5.2 nights of 20 000. Poisson: above 14 is 1 in 3000.
    expect(alarms).toBeLessThanOrEqual(14);
    expect(alarms).toBeGreaterThanOrEqual(1);
  });

  it("alarm at a lasting shift, and say after which hour it began", () => {
    const hours = hoursOf(Array.from({ length: HOURS }, (_, hour) => (hour < 5 ? 0 : 3)));
    const { alarms } = alarmCharts(hours, chartLimits(2, HOURS));
    expect(alarms.map(({ chart }) => chart).sort()).toEqual(["CUSUM", "EWMA"]);
    expect(alarms.map(({ sinceHour }) => sinceHour)).toEqual([5, 5]);
  });

  it("say nothing of a level that falls: a worn cathode does not do that", () => {
    const hours = hoursOf(Array.from({ length: HOURS }, () => -4));
    expect(alarmCharts(hours, chartLimits(2, HOURS)).alarms).toEqual([]);
  });
});

describe("limits of a night", () => {
  it("grow with the number of levels that could be wrong", () => {
    expect(limitSd("line", 10)).toBeGreaterThan(limitSd("line", 2));
    // 0.0013 x 0.75 on one side and one level: between the normal quantiles of 0.9990, 3.090, and of 0.9991, 3.121
    // (common tables).
    expect(limitSd("line", 1)).toBeGreaterThan(3.09);
    expect(limitSd("line", 1)).toBeLessThan(3.121);
  });

  it("are the last look's once all is in, and far above it before", () => {
    expect(limitSoFar(3, 1)).toBe(3);
    expect(limitSoFar(3, 0.25)).toBe(24);
  });

  it("keep a line that is looked at every hour as rare an alarm as one looked at once", () => {
    const nights = 60_000;
    const limit = limitSd("line", 1);
    let [once, often] = [0, 0];
    for (let night = 0; night < nights; night += 1) {
      const chance = quickChance(`looks ${night}`);
      const values = Array.from({ length: HOURS }, () => chance.normal());
      const looks = values.map((_, at) => slopeSd(values.slice(0, at + 1)));
      if ((looks.at(-1) ?? 0) > limit) once += 1;
      if (looks.some((z, at) => z > limitSoFar(limit, (at + 1) / HOURS))) often += 1;
    }
    expect(once).toBeGreaterThan(30);
    expect(often).toBeLessThan(1.5 * once);
  });
});

/** Slope of a line through values of deviation 1, by its own. */
function slopeSd(values: readonly number[]): number {
  const middle = (values.length - 1) / 2;
  const squares = values.reduce((sum, _, at) => sum + (at - middle) ** 2, 0);
  return squares === 0
    ? 0
    : values.reduce((sum, one, at) => sum + one * (at - middle), 0) / Math.sqrt(squares);
}
