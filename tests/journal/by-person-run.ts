/** Runs that a person had in hand, as events: frozen and handed over, and one by hand on warm heaters. */
import type { JudgedReading, RunEvent } from "../../src/events/events.ts";
import {
  closed,
  fall,
  healthyEvents,
  healthyUpTo,
  judgedLine,
  judgedNet,
  latchPlan,
  opened,
  reading,
} from "./latch-run.ts";

const plan = { ...latchPlan, trigger: { line: "SCOPE", output: 8 } };

type Opened = Extract<RunEvent, { kind: "run-opened" }>;

function openedAs(mode: Opened["mode"]): RunEvent {
  if (opened.kind !== "run-opened") throw new TypeError("Expected the opening of a run.");
  return {
    ...opened,
    version: 2,
    run: `2026-05-02-${mode === "hand" ? "by-hand" : "frozen"}`,
    mode,
    unitSheet: {
      unit: "FL-07",
      tubes: [
        { position: "V1", tube: "ECC82", serial: "K4-118" },
        { position: "V2", tube: "ECC82", serial: null },
      ],
      coldChecks: [
        { check: "heater to chassis", value: "no continuity", by: "AB" },
        { check: "plate to chassis, ohms", value: null, by: null },
      ],
    },
    plan,
  };
}

/** Q stands between when RESET has pulled it. */
const missed: readonly JudgedReading[] = [
  judgedLine("SET", "low", 0.2),
  judgedLine("RESET", "high", 40.1),
  judgedNet("Q", "low", 21.4),
  judgedNet("QN", "high", 44.8),
];
const mended: readonly JudgedReading[] = missed.map((one) =>
  one.channel === "Q" ? judgedNet("Q", "low", 9.6) : one,
);

function turn(number: number, step: number, readings: readonly JudgedReading[]): RunEvent[] {
  const result = readings.every((one) => one.result === "pass") ? "pass" : "fail";
  return [
    { kind: "lines", set: { SET: "low", RESET: "high", SCOPE: "high" } },
    { kind: "lines", set: { SCOPE: "low" } },
    { kind: "freeze-turn", step, turn: number, result, readings },
  ];
}

const released: RunEvent[] = [
  { kind: "lines", set: { SET: "low", RESET: "low", LAMP: "low", SCOPE: "low" } },
  { kind: "trips-armed", armed: false },
];

/** Frozen at its first step, repeated, looped, mended meanwhile; let go, and handed to a next run. */
export const frozenEvents: readonly RunEvent[] = [
  openedAs("proof"),
  ...healthyUpTo((event) => event.kind === "step-begun" && event.step === 0).slice(1),
  { kind: "lines", set: { SET: "low", RESET: "high" } },
  { kind: "reading", step: 0, part: "pattern", readings: missed },
  { kind: "step-ended", step: 0, result: "fail" },
  { kind: "phase", phase: "frozen" },
  { kind: "frozen", step: 0, limitMs: 300_000, trigger: "SCOPE" },
  ...turn(1, 0, missed),
  { kind: "watch", readings: [{ ...reading("Q", 21.4), rippleV: 0.3 }] },
  { kind: "freeze-loop", from: 0, to: 1 },
  ...turn(2, 1, [judgedNet("Q", "high", 45.1), judgedNet("QN", "low", 9.7)]),
  ...turn(3, 0, mended),
  { kind: "freeze-loop", from: 0, to: null },
  { kind: "thawed", why: "let go" },
  { kind: "phase", phase: "powering down" },
  { kind: "rail-switched", rail: "plate", on: false },
  fall("plate", "verified"),
  ...released,
  { kind: "rail-switched", rail: "bias", on: false },
  fall("bias", "verified"),
  { kind: "phase", phase: "standby" },
  { kind: "standby-begun", limitMs: 600_000, verdict: "fail" },
  { kind: "watch", readings: [reading("heater.source", 12.6), reading("heater.board", 12.5)] },
  { kind: "standby-ended", why: "next run" },
  { kind: "phase", phase: "powering down" },
  { kind: "rail-fall", rail: "heater", proof: "kept on", volts: null, tookMs: null },
  { kind: "phase", phase: "ended" },
  closed("fail", "first fail"),
];

function warmPowerUp(): RunEvent[] {
  const from = healthyEvents.findIndex(({ kind }) => kind === "controller");
  const to = healthyEvents.findIndex(({ kind }) => kind === "warm-up-ended");
  return healthyEvents.slice(from, to + 1).flatMap((event): RunEvent[] => {
    if (event.kind === "controller") {
      return [event, { kind: "rail-switched", rail: "heater", on: true, takenOverMs: 312_000 }];
    }
    return event.kind === "rail-switched" && event.rail === "heater" ? [] : [event];
  });
}

/** Heaters taken over; a line pulsed, what came of it read; let go. */
export const handEvents: readonly RunEvent[] = [
  openedAs("hand"),
  ...warmPowerUp(),
  { kind: "phase", phase: "by hand" },
  { kind: "hand-begun", limitMs: 900_000 },
  { kind: "hand-reading", readings: [reading("Q", 9.4), reading("QN", 44.8)] },
  { kind: "lines", set: { SET: "high" } },
  { kind: "lines", set: { SET: "low" } },
  { kind: "hand-reading", readings: [reading("Q", 45.1), reading("QN", 9.7)] },
  {
    kind: "remark",
    text: "line RESET is driven high and reads 21.00 V, between: check its relay, its source and its lead",
  },
  { kind: "phase", phase: "powering down" },
  { kind: "rail-switched", rail: "plate", on: false },
  fall("plate", "verified"),
  ...released,
  { kind: "rail-switched", rail: "bias", on: false },
  fall("bias", "verified"),
  { kind: "rail-switched", rail: "heater", on: false },
  fall("heater", "verified"),
  { kind: "phase", phase: "ended" },
  closed("not tested"),
];
