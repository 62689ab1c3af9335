/**
 * Drift of a run from its full sets of readings: which section, if any, conducts less and less, how sure
 * that is, and nothing more than was shown. Called with all sets so far at each new one.
 */
import type { UnitHistory } from "../../events/unit-history.ts";
import { robustZ } from "../../measure/statistics/robust-z.ts";
import { type AlarmCharts, alarmCharts } from "./alarm-charts.ts";
import { chartLimits, limitSd, limitSoFar } from "./chances.ts";
import type { DriftBoard, DriftSet } from "./drift-set.ts";
import { findWeak, highFindings, remarksOf } from "./find-weak.ts";
import { firstOn } from "./first-on.ts";
import { fitLevel, type LevelFit } from "./fit-level.ts";
import { fromBaseline } from "./from-baseline.ts";
import { heaterLow } from "./heater-low.ts";
import { inBlocks } from "./in-blocks.ts";
import { influenceColumns } from "./influences.ts";
import { learnFrom } from "./learn-from.ts";
import { levelSeries } from "./level-series.ts";
import type { DriftFinding, DriftReport, LevelReport } from "./report.ts";
import { withoutShared } from "./shared-motion.ts";
import { priorOf } from "./unit-history.ts";
import { type Weighed, weighLevels } from "./weigh-levels.ts";
import { ownersOf, unreadSections } from "./who-conducts.ts";

export interface DriftOptions {
  /** Of the whole run, on; null where the run is over, or its length is not known. */
  readonly plannedHours: number | null;
  /** What earlier runs of this unit taught; null for the first. */
  readonly history: UnitHistory | null;
}

/** Sets of the first so many minutes of each leg are left out: cathodes and rig are still warming. */
export const WARMING_MINUTES = 30;
/** Hours that a run must have on and warm, and sets in them, before anything is said of drift. */
const HOURS_MIN = 4;
const SETS_MIN = 24;
/** Of a normal distribution: what 95 of 100 stay below. */
const ONE_SIDED_95 = 1.645;

export function assessDrift(
  sets: readonly DriftSet[],
  board: DriftBoard,
  options: DriftOptions,
): DriftReport {
  const warm = sets.filter(({ minutesOn }) => minutesOn >= WARMING_MINUTES);
  const settled = warm.filter(({ moment }) => moment !== "first on" && moment !== "heater low");
  const columns = influenceColumns(settled);
  const hours = settled.map(({ onHours }) => onHours);
  const fits = levelSeries(settled).flatMap((series) => {
    const priorAt = (levelV: number) => priorOf(series, columns, levelV, options.history);
    const fit = fitLevel(series, columns, hours, priorAt);
    return fit === null ? [] : [fit];
  });
  const span = (hours.at(-1) ?? 0) - (hours[0] ?? 0);
  const planned = Math.max(options.plannedHours ?? 0, span + WARMING_MINUTES / 60);
  const part = options.plannedHours === null ? 1 : (hours.at(-1) ?? 0) / planned;
  const lows = weighLevels(fits.filter(({ series }) => series.class === "low"));
  const highs = weighLevels(fits.filter(({ series }) => series.class === "high"));
  const context = { board, planned, part };
  const low = levelReports(lows, context);
  const high = levelReports(highs, context);
  const why = whyNot(fits, { span, sets: settled.length });
  const cooler = heaterLow(sets, board);
  // These need no night: two sets show them, however long the run was.
  const findings = [
    ...(cooler?.findings ?? []),
    ...(why === null ? findingsOf({ lows, highs, low, high, sets }, board) : []),
  ];
  const moved = new Set(findings.map(({ net }) => net));
  return {
    judged: why === null,
    why,
    hours: span,
    sets: settled.length,
    leftOut: {
      warmingUp: sets.length - warm.length,
      incomplete: columns.usable.filter((one) => !one).length,
    },
    levels: [...low, ...high],
    findings,
    heaterLow: cooler,
    remarks: why === null ? remarksOf(lows, low, moved) : [],
    unread: unreadSections(board),
    positions: Object.fromEntries(
      board.stages.flatMap(({ section, position }) =>
        position === null ? [] : [[section, position]],
      ),
    ),
    serials: board.serials ?? {},
    influences: columns.names,
    learned: learnFrom(
      fits,
      ({ series }) => why === null && !moved.has(series.net),
      options.history,
    ),
  };
}

function whyNot(
  fits: readonly LevelFit[],
  { span, sets }: { span: number; sets: number },
): string | null {
  if (sets < SETS_MIN || span < HOURS_MIN) {
    return (
      `drift needs ${SETS_MIN} full sets over ${HOURS_MIN} h after ${WARMING_MINUTES} min of warming, ` +
      `got ${sets} over ${span.toFixed(1)} h`
    );
  }
  return fits.some(({ series }) => series.class === "low")
    ? null
    : "no net was read at its low level in enough sets";
}

function findingsOf(
  of: {
    readonly lows: Weighed;
    readonly highs: Weighed;
    readonly low: readonly LevelReport[];
    readonly high: readonly LevelReport[];
    readonly sets: readonly DriftSet[];
  },
  board: DriftBoard,
): DriftFinding[] {
  const weak = findWeak(of.lows, of.low, board.contract);
  const noise = new Map(of.low.map(({ net, noiseV }) => [net, noiseV] as const));
  const limit = limitSd("firstOn", of.low.length);
  const slow = firstOn(of.sets, noise)
    .filter(({ sd }) => sd > limit)
    .map((one) => ({ kind: "slow to conduct" as const, ...one, ...ownersOf(one.net, board) }));
  return [...weak, ...highFindings(of.highs, of.high), ...slow];
}

function levelReports(
  { levels, shared }: Weighed,
  { board, planned, part }: { board: DriftBoard; planned: number; part: number },
): LevelReport[] {
  const isLow = levels[0]?.fit.series.class === "low";
  const limit = limitSoFar(limitSd(isLow ? "line" : "high", levels.length), part);
  const hourly = levels.map(({ fit }) => new Map(inHours(fit, shared.widening)));
  const sisters = besideLikes(levels.map(({ fit }) => fit.coefficients[0] as number));
  return levels.map(({ fit, drift, ownSd }, at): LevelReport => {
    const { net, class: level } = fit.series;
    return {
      ...ownersOf(net, board),
      net,
      class: level,
      levelV: fit.coefficients[0] as number,
      drift,
      ownSd,
      limitSd: limit,
      smallestV: (limit + ONE_SIDED_95) * drift.sdV,
      noiseV: fit.noiseV,
      fromBaseline: fromBaseline(fit),
      charts: isLow ? chartsOf(hourly, at, { shared, planned }) : null,
      odd: fit.odd,
      sistersZ: sisters?.[at] ?? null,
    };
  });
}

/** Fewer likes than this have no spread to be held against. */
const SISTERS_MIN = 4;
/** A spread that levels of like stages have anyway: a fifth of a volt, tubes as new ones differ. */
const SISTERS_SD_V = 0.2;

function besideLikes(levels: readonly number[]): readonly number[] | null {
  return levels.length < SISTERS_MIN ? null : robustZ(levels, SISTERS_SD_V);
}

function inHours(fit: LevelFit, widening: number): (readonly [number, number])[] {
  // The first set only says where the level stands.
  const rest = { hours: fit.hours.subarray(1) };
  return inBlocks(rest, fit.innovations.subarray(1), 1).map(
    ({ index, u }) => [index, u / widening] as const,
  );
}

function chartsOf(
  hourly: readonly ReadonlyMap<number, number>[],
  which: number,
  { shared, planned }: { shared: Weighed["shared"]; planned: number },
): AlarmCharts {
  const points = [...(hourly[which] ?? [])].map(([hour, u]) => {
    const others = hourly.flatMap((one, other) => {
      const beside = other === which ? undefined : one.get(hour);
      return beside === undefined ? [] : [beside];
    });
    return { hour, u: withoutShared(u, others, shared) };
  });
  return alarmCharts(points, chartLimits(hourly.length, Math.max(1, Math.ceil(planned))));
}
