/**
 * The control charts of drift detection, run on simulated residuals, against published average run
 * lengths; the limits chosen for a night, by how many quiet nights they alarm in; and every published
 * worked example that the charts, trends, claims and factors are held to.
 */
import type { CusumChart } from "../../src/measure/statistics/cusum-chart.ts";
import { cusumAlarm, cusumStart, cusumStep } from "../../src/measure/statistics/cusum-chart.ts";
import { cusumLimitFor } from "../../src/measure/statistics/cusum-run-length.ts";
import type { EwmaChart } from "../../src/measure/statistics/ewma-chart.ts";
import {
  EWMA_START,
  ewmaAlarm,
  ewmaLimit,
  ewmaStep,
} from "../../src/measure/statistics/ewma-chart.ts";
import { ewmaLimitSdFor } from "../../src/measure/statistics/ewma-run-length.ts";
import type { RunLengthRow } from "../measure/statistics/run-length-tables.ts";
import { cusumTables, ewmaTables } from "../measure/statistics/run-length-tables.ts";
import { workedExamples } from "../measure/statistics/worked-examples.ts";
import type { FigureContext } from "./figure.ts";
import type { Chance } from "./uncertainty/quick-chance.ts";
import { quickChance } from "./uncertainty/quick-chance.ts";

const RUNS = 10_000;
const RUNS_FULL = 100_000;
/** What a simulated run length may be off the printed one. */
const OFF = 0.05;
/** A night of five-minute readings, and the chance of a false alarm that its limits are chosen for. */
const NIGHT_POINTS = 144;
const NIGHT_CHANCE = 0.02;
/** Standard deviations of a binomial share that a simulated chance may be off. */
const SHARE_SD = 4;

/** Residuals up to and with the first alarm; stops at `most`. */
type Runner = (chance: Chance, shift: number, most?: number) => number;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const runs = full ? RUNS_FULL : RUNS;
  const tables = [
    ...ewmaTables().map((table) => ({
      name: `EWMA, ${table.name}${table.fromMemory ? " (from memory)" : ""}`,
      rows: table.rows,
      run: settledEwma(table.chart),
    })),
    ...cusumTables().map((table) => ({
      name: `CUSUM, ${table.name}`,
      rows: table.rows,
      run: cusumRunner(table.chart, table.sides, table.headStart),
    })),
  ];
  for (const { name, rows, run } of tables) {
    const off = rows.map((row) => deviation(row, run, `${name} ${row.shift}`, runs));
    say(
      `${name}: ${off.map(({ shift, average }) => `${shift}: ${average.toFixed(2)}`).join(", ")}`,
    );
    const worst = off.reduce((a, b) => (Math.abs(b.part) > Math.abs(a.part) ? b : a));
    report({
      name: `control-charts ${name}`,
      value: Number((100 * worst.part).toFixed(2)),
      unit: `% off the printed average run length, the worst of ${off.length} shifts (at ${worst.shift} sigma: ${worst.average.toFixed(2)} simulated, ${worst.printed} printed), ${runs} runs each`,
      limit: `within +-${100 * OFF}`,
      holds: Math.abs(worst.part) <= OFF,
    });
  }
  for (const { name, run } of nightCharts()) {
    const chance = quickChance(`night ${name}`);
    let alarms = 0;
    for (let night = 0; night < runs; night += 1) {
      if (run(chance, 0, NIGHT_POINTS + 1) <= NIGHT_POINTS) alarms += 1;
    }
    const allowed = SHARE_SD * Math.sqrt((NIGHT_CHANCE * (1 - NIGHT_CHANCE)) / runs);
    report({
      name: `control-charts ${name}, limit chosen for ${100 * NIGHT_CHANCE} % of nights of ${NIGHT_POINTS} readings`,
      value: Number(((100 * alarms) / runs).toFixed(3)),
      unit: `% of ${runs} quiet nights alarm`,
      limit: `${100 * NIGHT_CHANCE} within ${SHARE_SD} standard deviations of such a count (${(100 * allowed).toFixed(2)})`,
      holds: Math.abs(alarms / runs - NIGHT_CHANCE) <= allowed,
    });
  }
  for (const { source, prints } of workedExamples()) {
    const unlike = prints.filter(({ found, printed }) => found !== printed);
    for (const { what, found, printed } of unlike)
      say(`${source}, ${what}: ${found} for ${printed}`);
    report({
      name: `control-charts worked example, ${source}`,
      value: prints.length - unlike.length,
      unit: `of ${prints.length} reference values agree to the last digit given`,
      limit: `= ${prints.length}`,
      holds: unlike.length === 0,
    });
  }
}

/** A simulated average run length beside the printed one, and by what part of it they differ. */
function deviation({ shift, printed }: RunLengthRow, run: Runner, seed: string, runs: number) {
  const chance = quickChance(seed);
  let sum = 0;
  for (let count = 0; count < runs; count += 1) sum += run(chance, shift);
  const average = sum / runs;
  return { shift, printed, average, part: average / Number(printed) - 1 };
}

/** The tables' EWMA, whose limits do not widen from the start on. */
function settledEwma(chart: EwmaChart): Runner {
  const limit = ewmaLimit(chart);
  return (chance, shift) => {
    let state = EWMA_START;
    do state = ewmaStep(chart, state, shift + chance.normal());
    while (Math.abs(state.average) <= limit);
    return state.count;
  };
}

function cusumRunner(chart: CusumChart, sides: "one" | "both", headStart: number): Runner {
  return (chance, shift, most = Number.POSITIVE_INFINITY) => {
    let state = cusumStart(headStart);
    for (;;) {
      state = cusumStep(chart, state, shift + chance.normal());
      const alarm = sides === "both" ? cusumAlarm(chart, state) !== null : state.high > chart.h;
      if (alarm || state.count >= most) return state.count;
    }
  };
}

function nightCharts(): { readonly name: string; readonly run: Runner }[] {
  const wish = { points: NIGHT_POINTS, chance: NIGHT_CHANCE };
  const lambda = 0.1;
  const chart = { lambda, limitSd: ewmaLimitSdFor({ lambda, ...wish }) };
  const k = 0.5;
  const h = cusumLimitFor({ k, ...wish });
  return [
    {
      name: `EWMA lambda ${lambda}, L ${chart.limitSd.toFixed(3)}`,
      run: (chance, shift, most = Number.POSITIVE_INFINITY) => {
        let state = EWMA_START;
        do state = ewmaStep(chart, state, shift + chance.normal());
        while (ewmaAlarm(chart, state) === null && state.count < most);
        return state.count;
      },
    },
    { name: `CUSUM k ${k}, h ${h.toFixed(3)}`, run: cusumRunner({ k, h }, "both", 0) },
  ];
}
