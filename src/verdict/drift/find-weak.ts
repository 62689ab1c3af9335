/** From weighed levels to findings: what is beyond chance, alone, and the way a worn section goes. */
import type { LevelContract } from "../../events/levels.ts";
import { median } from "../../measure/statistics/median.ts";
import { normalCdf } from "../../measure/statistics/quantiles.ts";
import { timeToLimit } from "../../measure/statistics/time-to-limit.ts";
import type { ChartAlarm } from "./alarm-charts.ts";
import { less, sizeAlong } from "./fit-level.ts";
import { lineOrStep } from "./line-or-step.ts";
import type { DriftFinding, DriftRemark, LevelReport, LosesEmission } from "./report.ts";
import type { Weighed, WeighedLevel } from "./weigh-levels.ts";

/** An alarm of a chart counts only where the run's end still stands so far up. Standard deviations. */
const STILL_UP_SD = 2;
/** Interval for 95 % of a normal value, standard deviations. */
const TWO_SIDED_95 = 1.96;
/** Rails or temperature hide so much of a line that what is left is worth a word. */
const HIDDEN_MIN = 2;
/** Square of the correlation with time from which something went one way all night. */
const ONE_WAY = 0.8;
/** Sets that say where a level stands now. */
const NOW_SETS = 12;

export function findWeak(
  { levels }: Weighed,
  reports: readonly LevelReport[],
  contract: LevelContract,
): DriftFinding[] {
  return levels.flatMap((level, at) => {
    const report = reports[at] as LevelReport;
    const alarms = report.charts?.alarms ?? [];
    const byLine = level.ownSd > report.limitSd;
    const byCharts = level.ownSd > STILL_UP_SD && alarms.length > 0;
    if (!level.alone || !(byLine || byCharts)) return [];
    const by: LosesEmission["by"] = [
      ...(byLine ? ["line" as const] : []),
      ...alarms.map(({ chart }) => chart),
    ];
    return [weakOrStep(level, report, { by, alarms, contract, count: levels.length })];
  });
}

function weakOrStep(
  { fit, drift, ownSd }: WeighedLevel,
  report: LevelReport,
  facts: {
    readonly by: LosesEmission["by"];
    readonly alarms: readonly ChartAlarm[];
    readonly contract: LevelContract;
    readonly count: number;
  },
): DriftFinding {
  const { net, sections, behind } = report;
  const { shape, stepHour, stepV } = lineOrStep(fit);
  if (shape === "step") {
    return { kind: "level step", net, sections, behind, stepV, atHour: stepHour, ownSd };
  }
  const { driftV, sdV, slope } = drift;
  const nowV = nowOf(fit);
  const since = facts.alarms.map(({ sinceHour }) => sinceHour);
  return {
    kind: "loses emission",
    net,
    sections,
    behind,
    driftV,
    lowV: driftV - TWO_SIDED_95 * sdV,
    highV: driftV + TWO_SIDED_95 * sdV,
    ownSd,
    chance: Math.min(1, facts.count * normalCdf(-ownSd)),
    by: facts.by,
    sinceHour: since.length === 0 ? null : Math.min(...since),
    shape,
    slope,
    untilVol: slope === null ? null : timeToLimit(nowV, facts.contract.volV, slope),
  };
}

/** A high level that comes down alone; one that all share is the plate rail's. */
export function highFindings({ levels }: Weighed, reports: readonly LevelReport[]): DriftFinding[] {
  return levels.flatMap(({ ownSd, alone, drift }, at) => {
    const { net, sections, behind, limitSd } = reports[at] as LevelReport;
    if (!alone || -ownSd <= limitSd) return [];
    return [
      { kind: "high level falls" as const, net, sections, behind, driftV: drift.driftV, ownSd },
    ];
  });
}

/** @param moved nets of which there is a finding */
export function remarksOf(
  { levels, togetherV }: Weighed,
  reports: readonly LevelReport[],
  moved: ReadonlySet<string>,
): DriftRemark[] {
  const remarks: DriftRemark[] = [];
  if (togetherV !== 0) {
    const nets = reports.map(({ net }) => net);
    remarks.push({ kind: "moves together", nets, driftV: togetherV });
  }
  for (const [at, level] of levels.entries()) {
    const { net, sections, behind, limitSd, charts } = reports[at] as LevelReport;
    if (moved.has(net)) continue;
    const { hidden, likest, sdV } = level.drift;
    const riseV = riseByDefault(level);
    // Seen against noise alone, and gone once what the influence may do is allowed for.
    const isSeen = riseV > (limitSd * sdV) / hidden;
    if (likest !== null && likest.share > ONE_WAY && hidden > HIDDEN_MIN && isSeen) {
      const { influence } = likest;
      remarks.push({ kind: "not separable", net, sections, behind, riseV, influence });
    }
    const alarm = charts?.alarms[0];
    if (alarm !== undefined && level.ownSd <= STILL_UP_SD) {
      remarks.push({ kind: "moved for a while", net, sections, behind, hour: alarm.hour });
    }
  }
  return remarks;
}

/** Volts by which a level rose over the run beyond what was expected of rails and temperature beforehand. */
function riseByDefault({ fit }: WeighedLevel): number {
  const { volts, columns, prior, line } = fit;
  const left = less(volts, volts[0] as number, columns, prior.mean);
  const mean = line.reduce((sum, one) => sum + one, 0) / line.length;
  return sizeAlong(
    left,
    line.map((one) => one - mean),
  ).size;
}

/** Where a level stands now: the median of its last sets, as read, for it is what a receiver sees. */
function nowOf({ volts }: WeighedLevel["fit"]): number {
  return median(volts.subarray(-NOW_SETS));
}
