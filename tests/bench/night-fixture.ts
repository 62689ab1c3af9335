/**
 * What the fixture for nights costs, and how far it is from the one that solves every transient: processor time
 * of a cycle and of a leg's warm-up and power-down, over hours in which everything moves; volts of every settled
 * state of every shipped board beside solved ones.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { documentOf } from "../../src/formats/load-document.ts";
import { loadScenario } from "../../src/formats/scenario.schema.ts";
import { createQuickFixture, type QuickFixture } from "../../src/simulate/quick/quick-fixture.ts";
import { compareWithSpice } from "../references/spice/compare.ts";
import { shippedBoard } from "../simulate/fixture/step-through.ts";
import { runEmulated } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";
import { runAtNight } from "./night-run.ts";

const BOARDS = ["flasher-latch", "fog-divider", "sector-latch", "watch-adder", "blast-ring"];
const RAILS = 0b111;
const SET = 0b1000;
const RESET = 0b10000;
/** Warm-up's patterns, and how long each stands. */
const EXERCISE = [RAILS | SET, RAILS | RESET] as const;
const EXERCISE_MS = 105;
const WARM_UP_MS = 30_000;
const POWER_DOWN_MS = 30_000;
const CYCLE = [RAILS | SET, RAILS, RAILS | RESET, RAILS] as const;
const CYCLE_MS = 500;
const SETTLE_MS = 60;
const NETS_PIN = 6;
const CHANNELS = 4;
const CONVERSION_MS = 0.224;
const CYCLES = 20_000;
const CYCLES_FULL = 86_400;
const CYCLE_US_MAX = 60;
const LEG_MS_MAX = 200;
const APART_MV_MAX = 3;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  // Once without the watch, so that the measured time is that of compiled code.
  const first = night();
  warmUp(first);
  cycles(first, { count: 2000, conversions: 16 });

  const fixture = night();
  const warmMs = cpuMs(() => warmUp(fixture));
  const count = full ? CYCLES_FULL : CYCLES;
  const perCycle = (conversions: number): number =>
    (1000 * cpuMs(() => cycles(fixture, { count, conversions }))) / count;
  for (const conversions of [1, 16]) {
    const value = round(perCycle(conversions));
    report({
      name: `a cycle of four steps, four channels by ${conversions} conversions each step`,
      value,
      unit: `us of processor time, over ${round((count * CYCLE_MS) / 3_600_000)} h`,
      limit: conversions === 1 ? `<= ${CYCLE_US_MAX}` : "told, not limited",
      holds: conversions !== 1 || value <= CYCLE_US_MAX,
    });
  }
  const downMs = cpuMs(() => powerDown(fixture));
  report({
    name: "warm-up and power-down of a leg",
    value: round(warmMs + downMs),
    unit: `ms of processor time, of ${(WARM_UP_MS + POWER_DOWN_MS) / 1000} s`,
    limit: `<= ${LEG_MS_MAX}`,
    holds: warmMs + downMs <= LEG_MS_MAX,
  });

  const solved = compareWithSpice();
  const apartMv = compareWithSpice(createQuickFixture).map(
    ({ oursV }, index) => 1000 * Math.abs(oursV - (solved[index]?.oursV ?? Number.NaN)),
  );
  const mostMv = Math.max(...apartMv);
  report({
    name: `settled volts against the solved transient, ${apartMv.length} of every shipped board`,
    value: Math.round(1e5 * mostMv) / 100,
    unit: "uV apart at most",
    limit: `<= ${1000 * APART_MV_MAX}`,
    holds: mostMv <= APART_MV_MAX,
  });
  if (full) await verdicts({ full, report, say });
}

/** Whole proofs, on this fixture behind the modelled controller and on the emulated bench. */
async function verdicts({ report, say }: FigureContext): Promise<void> {
  let alike = 0;
  for (const board of BOARDS) {
    const job = { board, seed: 1, changes: [], haste: null };
    const night = await runAtNight({ ...job, scenario: null });
    const emulated = await runEmulated({ ...job, spread: null });
    say(`${board}: ${night.verdict} at night, ${emulated.verdict} on the emulated bench`);
    if (night.verdict === emulated.verdict) alike += 1;
  }
  report({
    name: "proofs with the verdict of the emulated bench",
    value: alike,
    unit: `of ${BOARDS.length} shipped boards`,
    limit: `= ${BOARDS.length}`,
    holds: alike === BOARDS.length,
  });
}

function night(): QuickFixture {
  const { circuit, rig } = shippedBoard("flasher-latch");
  const path = join(import.meta.dirname, "../../sequences/flasher-latch/night.yaml");
  const scenario = documentOf(loadScenario(readFileSync(path, "utf8"), path)).value;
  return createQuickFixture({ circuit, rig, seed: scenario.seed, scenario });
}

let nowMs = 0;

function warmUp(fixture: QuickFixture): void {
  nowMs = 200;
  fixture.setOutputs(1, nowMs);
  fixture.setOutputs(3, nowMs + 600);
  fixture.setOutputs(RAILS, nowMs + 4200);
  for (nowMs += 4800; nowMs < WARM_UP_MS; ) {
    for (const mask of EXERCISE) step(fixture, mask, { settleMs: EXERCISE_MS, conversions: 16 });
  }
}

function cycles(
  fixture: QuickFixture,
  { count, conversions }: { readonly count: number; readonly conversions: number },
): void {
  for (let cycle = 0; cycle < count; cycle += 1) {
    const beganMs = nowMs;
    for (const mask of CYCLE) step(fixture, mask, { settleMs: SETTLE_MS, conversions });
    nowMs = beganMs + CYCLE_MS;
  }
}

function step(
  fixture: QuickFixture,
  mask: number,
  { settleMs, conversions }: { readonly settleMs: number; readonly conversions: number },
): void {
  fixture.setOutputs(mask, nowMs);
  nowMs += settleMs;
  for (let channel = 0; channel < CHANNELS; channel += 1) {
    for (let conversion = 0; conversion < conversions; conversion += 1) {
      fixture.pinVolts(NETS_PIN, channel, nowMs);
      nowMs += CONVERSION_MS;
    }
  }
}

function powerDown(fixture: QuickFixture): void {
  fixture.setOutputs(RAILS & 3, nowMs);
  fixture.setOutputs(0, nowMs + 300);
  for (let ms = 300; ms < POWER_DOWN_MS; ms += 100) fixture.pinVolts(3, 0, nowMs + ms);
}

function cpuMs(work: () => void): number {
  const begun = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / 1000;
}

function round(value: number): number {
  return Math.round(10 * value) / 10;
}
