/**
 * How fast fault simulation is: c880 under 1024 patterns beside the same program obeyed by a loop compiled from
 * C, and beside one run of Icarus Verilog a fault; and how it grows from 6 gates to 2400. Needs cc and iverilog.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { collapse, type FaultClasses } from "../../src/logic/faults/collapse.ts";
import { faultList } from "../../src/logic/faults/fault-list.ts";
import {
  type Detections,
  firstDetection,
  PatternFaults,
} from "../../src/logic/faults/patterns/pattern-faults.ts";
import { patternSet } from "../../src/logic/faults/patterns/pattern-set.ts";
import type { Circuit } from "../../src/logic/netlist/circuit.ts";
import { theilSen } from "../../src/measure/statistics/theil-sen.ts";
import { benchmarkCircuit } from "../logic/reference-netlists.ts";
import type { FigureContext } from "./figure.ts";
import { arrayMultiplier } from "./grading-speed/array-multiplier.ts";
import { compiledLoop } from "./grading-speed/compiled-loop.ts";
import { verilogRun } from "./grading-speed/verilog-run.ts";
import { seededChance } from "./seeded-chance.ts";

const PATTERNS = 1024;
/** Each side takes its turn so often, and the least disturbed turn counts. */
const TURNS = 7;
const JOBS_A_TURN = 300;
const RATIO_LEAST = 0.4;
const VERILOG_FAULTS = 12;
const WIDTHS = [2, 3, 4, 6, 8, 11, 16];
const TURN_US = 30_000;
const EXPONENT_MOST = 1.1;

export async function figure(context: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-grading-"));
  try {
    const classes = collapse(faultList(benchmarkCircuit("c880")));
    const rows = randomRows(classes.circuit, PATTERNS);
    const ours = besideC(context, classes, rows, folder);
    besideVerilog(context, classes, rows, folder, ours);
    growth(context);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

interface Ours {
  readonly us: number;
  readonly detections: Detections;
}

function besideC(
  { report, say }: FigureContext,
  classes: FaultClasses,
  rows: readonly string[],
  folder: string,
): Ours {
  const patterns = patternSet(rows);
  const begun = process.cpuUsage();
  const faults = new PatternFaults(classes);
  const buildUs = process.cpuUsage(begun).user;
  const detections = faults.detect(patterns);
  const first = classes.classes.map((_, index) => firstDetection(detections, index) ?? -1);
  const job = () => {
    const found = faults.detect(patterns);
    for (const index of classes.classes.keys()) firstDetection(found, index);
  };
  const built = has("cc") ? compiledLoop(classes, patterns, folder) : null;
  const turns = Array.from({ length: TURNS }, () => ({
    ours: microsecondsOf(job, JOBS_A_TURN),
    compiled: built?.run(JOBS_A_TURN),
  }));
  const us = Math.min(...turns.map(({ ours }) => ours));
  const evaluations = faults.gateEvaluations * PATTERNS;
  say(
    `c880: ${classes.classes.length} faults, ${Math.round(faults.gateEvaluations)} gates evaluated a pattern, ${Math.round(buildUs / 1000)} ms to build the program once`,
  );
  report({
    name: `grading-speed c880, all faults, ${PATTERNS} patterns`,
    value: round(us / 1000),
    unit: "ms of processor time",
    limit: "<= 10",
    holds: us <= 10_000,
  });
  report({
    name: "grading-speed c880, throughput",
    value: round(evaluations / us / 1000),
    unit: "10^9 gate-pattern evaluations a second, only those done counted",
    limit: ">= 1",
    holds: evaluations / us >= 1000,
  });
  if (built === null) {
    say("cc is missing: the comparison with a compiled loop is not made; install gcc");
    return { us, detections };
  }
  const compiledUs = Math.min(...turns.map(({ compiled }) => compiled?.us ?? Number.NaN));
  report({
    name: "grading-speed c880, speed beside the same program in C by cc -O2",
    value: round(compiledUs / us),
    unit: `times as fast; C takes ${round(compiledUs / 1000)} ms, ${round(evaluations / compiledUs / 1000)} x 10^9 gate-pattern evaluations a second`,
    limit: `>= ${RATIO_LEAST}`,
    holds: compiledUs / us >= RATIO_LEAST,
  });
  const same = first.every((pattern, index) =>
    turns.every(({ compiled }) => compiled?.first[index] === pattern),
  );
  report({
    name: "grading-speed c880, first detecting patterns as the C loop finds them",
    value: same ? "equal" : "different",
    unit: `${first.length} classes`,
    limit: "= equal",
    holds: same,
  });
  return { us, detections };
}

function besideVerilog(
  { full, report, say }: FigureContext,
  { circuit, classes, faults }: FaultClasses,
  rows: readonly string[],
  folder: string,
  { us, detections }: Ours,
): void {
  if (!has("iverilog")) {
    say("iverilog is missing: the comparison with one run a fault is not made; install iverilog");
    return;
  }
  const step = full ? 1 : Math.floor(classes.length / VERILOG_FAULTS);
  const tried = [...classes.keys()].filter((index) => index % step === 0);
  const good = verilogRun(circuit, rows, folder, null).answers;
  let seconds = 0;
  let equal = 0;
  for (const [count, index] of tried.entries()) {
    const fault = faults[classes[index]?.[0] ?? -1] ?? null;
    const run = verilogRun(circuit, rows, folder, fault);
    seconds += run.seconds;
    const differs = run.answers.map((answer, pattern) => answer !== good[pattern]);
    const ours = rows.map((_, pattern) => isDetected(detections, index, pattern));
    if (differs.every((value, pattern) => value === ours[pattern])) equal += 1;
    if (count % 100 === 99) say(`${count + 1} of ${tried.length} faults by iverilog`);
  }
  const whole = (seconds / tried.length) * classes.length;
  report({
    name: "grading-speed c880, speed beside one iverilog run a fault",
    value: Math.round(whole / (us / 1e6)),
    unit: `times as fast; ${round(seconds / tried.length)} s a fault, ${tried.length} of ${classes.length} faults run`,
    limit: ">= 1000",
    holds: whole / (us / 1e6) >= 1000,
  });
  report({
    name: "grading-speed c880, detecting patterns as iverilog finds them",
    value: equal,
    unit: `of ${tried.length} faults, every pattern equal`,
    limit: `= ${tried.length}`,
    holds: equal === tried.length,
  });
}

function growth({ report, say }: FigureContext): void {
  const circuits = [benchmarkCircuit("c17"), ...WIDTHS.map(arrayMultiplier)];
  const points = circuits.map((circuit) => {
    const classes = collapse(faultList(circuit));
    const faults = new PatternFaults(classes);
    const patterns = patternSet(randomRows(circuit, PATTERNS));
    const found = faults.detect(patterns);
    const job = () => faults.detect(patterns);
    const jobs = Math.max(1, Math.ceil(TURN_US / microsecondsOf(job, 3)));
    const us = Math.min(...Array.from({ length: TURNS }, () => microsecondsOf(job, jobs)));
    const gates = circuit.gateOutput.length;
    const seen = classes.classes.filter((_, index) => firstDetection(found, index) !== null);
    say(
      `${circuit.netlist.name}: ${gates} gates, ${classes.classes.length} faults, ${seen.length} detected, ${Math.round(faults.gateEvaluations)} gates evaluated a pattern, ${round(us)} us`,
    );
    return { gates, us, work: gates * classes.classes.length };
  });
  const { slope } = theilSen({
    t: points.map(({ work }) => Math.log(work)),
    y: points.map(({ us }) => Math.log(us)),
  });
  const [least, most] = [points[0], points.at(-1)];
  report({
    name: "grading-speed, growth of time with gates x faults",
    value: round(slope),
    unit: `exponent, ${least?.gates} to ${most?.gates} gates, ${PATTERNS} patterns`,
    limit: `<= ${EXPONENT_MOST}`,
    holds: slope <= EXPONENT_MOST,
  });
}

function randomRows({ inputs }: Circuit, count: number): string[] {
  const chance = seededChance(880);
  return Array.from({ length: count }, () =>
    Array.from(inputs, () => (chance() < 0.5 ? "0" : "1")).join(""),
  );
}

function isDetected({ words, wordsEach }: Detections, index: number, pattern: number): boolean {
  return (((words[index * wordsEach + (pattern >> 5)] ?? 0) >>> pattern) & 1) === 1;
}

/** Processor time of one job, microseconds. */
function microsecondsOf(job: () => unknown, times: number): number {
  const begun = process.cpuUsage();
  for (let time = 0; time < times; time++) job();
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / times;
}

function has(program: string): boolean {
  const argument = program === "iverilog" ? "-V" : "--version";
  return spawnSync(program, [argument]).status === 0;
}

function round(value: number): number {
  return Number(value.toPrecision(3));
}
