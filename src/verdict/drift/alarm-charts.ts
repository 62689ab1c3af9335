/** EWMA and CUSUM of one level's hours: whether and since when it stands higher than it did. */
import { cusumStart, cusumStep } from "../../measure/statistics/cusum-chart.ts";
import { EWMA_START, ewmaLimit, ewmaStep } from "../../measure/statistics/ewma-chart.ts";
import { type ChartLimits, CUSUM_K, EWMA_LAMBDA } from "./chances.ts";

export interface HourValue {
  /** Hour of time on, counted from 0. */
  readonly hour: number;
  /** Standardised: standard normal where nothing drifts. */
  readonly u: number;
}

interface ChartPoint extends HourValue {
  readonly ewma: number;
  /** The average's limit at this hour. */
  readonly ewmaLimit: number;
  readonly cusum: number;
}

export interface ChartAlarm {
  readonly chart: "EWMA" | "CUSUM";
  /** Hour of the alarm, and the hour after which the level began to stand higher. */
  readonly hour: number;
  readonly sinceHour: number;
}

export interface AlarmCharts {
  readonly points: readonly ChartPoint[];
  /** The first of each chart. */
  readonly alarms: readonly ChartAlarm[];
}

/** @param hours in order of time */
export function alarmCharts(hours: readonly HourValue[], limits: ChartLimits): AlarmCharts {
  const chart = { lambda: EWMA_LAMBDA, limitSd: limits.ewmaSd };
  let ewma = EWMA_START;
  let cusum = cusumStart();
  const points: ChartPoint[] = [];
  const alarms = new Map<ChartAlarm["chart"], ChartAlarm>();
  for (const { hour, u } of hours) {
    ewma = ewmaStep(chart, ewma, u);
    cusum = cusumStep({ k: CUSUM_K }, cusum, u);
    const limit = ewmaLimit(chart, ewma.count);
    points.push({ hour, u, ewma: ewma.average, ewmaLimit: limit, cusum: cusum.high });
    const since = hours[cusum.highSince]?.hour ?? hour;
    const alarm = (name: ChartAlarm["chart"]) => {
      if (!alarms.has(name)) alarms.set(name, { chart: name, hour, sinceHour: since });
    };
    if (ewma.average > limit) alarm("EWMA");
    if (cusum.high > limits.cusumH) alarm("CUSUM");
  }
  return { points, alarms: [...alarms.values()] };
}
