/** A lamp flasher latch and the events of runs on it, as a run would write them. */
import type { ChannelReading, JudgedReading, RunEvent } from "../../src/events/events.ts";
import type { LevelClass, RailName } from "../../src/events/levels.ts";
import type { Plan, PlannedChannel, PlannedRail } from "../../src/events/plan.ts";
import { judgeDrivenLine, judgeReading } from "../../src/verdict/judge.ts";

const divider = { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null };
const offset = { topOhm: 220_000, bottomOhm: 22_000, pullUpOhm: 22_000 };
const contract = { volV: 14, vilV: 18, vihV: 32, vohV: 36 };

const railFigures = {
  heater: { nominalV: 12.6, window: { lowV: 11.9, highV: 13.2 }, ceilingV: 14, safeV: 2 },
  bias: { nominalV: -24, window: { lowV: -26.4, highV: -21.6 }, ceilingV: -30, safeV: 2 },
  plate: { nominalV: 48, window: { lowV: 45.6, highV: 50.4 }, ceilingV: 55, safeV: 10 },
} as const;
const railNames: readonly RailName[] = ["heater", "bias", "plate"];

function rail(name: RailName, output: number): PlannedRail {
  return {
    rail: name,
    output,
    ...railFigures[name],
    sourceChannel: `${name}.source`,
    boardChannel: `${name}.board`,
    riseMsMax: 500,
    fallMsMax: name === "bias" ? 8000 : 1500,
  };
}

const netNames = ["Q", "QN"] as const;
const lineNames = ["SET", "RESET"] as const;

const channels: PlannedChannel[] = [
  ...railNames.flatMap((name, index): PlannedChannel[] =>
    (["source", "board"] as const).map((at, side) => ({
      name: `${name}.${at}`,
      number: 1 + 2 * index + side,
      reads: { kind: "rail", rail: name, at },
      divider: name === "bias" ? offset : divider,
      referenceV: 5,
    })),
  ),
  ...netNames.map(
    (net, index): PlannedChannel => ({
      name: net,
      number: 7 + index,
      reads: { kind: "net", net },
      divider,
      referenceV: 5,
    }),
  ),
  ...lineNames.map(
    (line, index): PlannedChannel => ({
      name: line,
      number: 9 + index,
      reads: { kind: "line", line },
      divider,
      referenceV: 5,
    }),
  ),
];

export const latchPlan: Plan = {
  board: { name: "flasher-latch", revision: "A", title: "Set-reset latch, lamp flasher rack" },
  rig: { name: "cabin-bench" },
  sequence: { name: "flasher-latch-proof" },
  sources: [
    { role: "board", name: "board.yaml", sha256: "aa".repeat(32) },
    { role: "sequence", name: "sequence.yaml", sha256: "bb".repeat(32) },
  ],
  contract,
  rails: railNames.map((name, index) => rail(name, index + 1)),
  ceilings: { betweenRailsV: 85, heaterToCathodeV: 90, contactDcV: 110 },
  lines: [
    ...lineNames.map((line, index) => ({
      line,
      output: 4 + index,
      drive: "changeover" as const,
      releasedLevel: "low" as const,
      channel: line,
      source: { low: { volts: 0, ohm: 1000 }, high: { volts: 44, ohm: 10_000 } },
    })),
    {
      line: "LAMP",
      output: 6,
      drive: "load",
      releasedLevel: null,
      channel: null,
      source: null,
    },
  ],
  channels,
  stages: [
    { stage: "V1a", type: "nor", position: "V1", section: "a", inputs: ["SET", "Q"], output: "QN" },
    {
      stage: "V1b",
      type: "nor",
      position: "V1",
      section: "b",
      inputs: ["RESET", "QN"],
      output: "Q",
    },
  ],
  samples: 16,
  slowestTimeConstantMs: 20,
  warmUp: {
    heaterBeforePlateMs: 3000,
    exercise: [
      { set: { SET: "high", RESET: "low" }, settleMs: 100, pullsLow: ["QN"] },
      { set: { SET: "low", RESET: "high" }, settleMs: 100, pullsLow: ["Q"] },
    ],
    timeoutMs: 60_000,
    steadyBandV: 0.3,
    steadyForMs: 3000,
  },
  steps: [
    {
      kind: "pattern",
      index: 0,
      name: "reset",
      set: { SET: "low", RESET: "high" },
      settleMs: 100,
      expect: { Q: "low", QN: "high" },
      note: null,
    },
    {
      kind: "hold",
      index: 1,
      name: "Q set",
      enter: { SET: "high" },
      release: { SET: "low" },
      inactive: { SET: "low", RESET: "low" },
      expect: { Q: "high", QN: "low" },
      move: ["LAMP"],
      moveEveryMs: 500,
      readEveryMs: 250,
      settleMs: 100,
      forMs: 120_000,
      flip: {
        enter: { RESET: "high" },
        release: { RESET: "low" },
        expect: { Q: "low", QN: "high" },
        forMs: 5000,
      },
      note: null,
    },
  ],
  claims: ["easy drive"],
  cautions: ["Up to 72 V between rails."],
  estimatedPassMs: 126_000,
};

const healthyV: Readonly<Record<string, Readonly<Record<"low" | "high", number>>>> = {
  Q: { low: 9.4, high: 45.1 },
  QN: { low: 9.7, high: 44.8 },
  SET: { low: 0.2, high: 40.3 },
  RESET: { low: 0.2, high: 40.1 },
};

export function reading(channel: string, volts: number): ChannelReading {
  return { channel, volts, noReading: null, sum: 4000, count: 16, min: 249, max: 251 };
}

export function judgedNet(net: string, expected: LevelClass, volts: number): JudgedReading {
  return judgeReading(reading(net, volts), expected, { contract });
}

export function judgedLine(line: string, level: "low" | "high", volts: number): JudgedReading {
  return judgeDrivenLine(reading(line, volts), level, contract);
}

function healthyNets(expect: Readonly<Record<string, LevelClass>>): JudgedReading[] {
  return Object.entries(expect).map(([net, level]) =>
    judgedNet(net, level, healthyV[net]?.[level === "low" ? "low" : "high"] ?? Number.NaN),
  );
}

export const opened: RunEvent = {
  kind: "run-opened",
  format: "holdfast-journal",
  version: 1,
  run: "2026-05-02-first-light",
  unit: "FL-07",
  bench: "emulated",
  seed: 7,
  wall: "2026-05-02T10:00:00.000+00:00",
  program: "holdfast 0.1.0",
  rule: "simple acceptance; uncertainty not evaluated",
  plan: latchPlan,
};

function gate(name: RailName, side: "source" | "board"): RunEvent {
  const { nominalV, window } = railFigures[name];
  return {
    kind: "gate",
    gate: side,
    rail: name,
    reading: reading(`${name}.${side}`, nominalV),
    ...window,
    open: true,
    waitedMs: 40,
  };
}

export function fall(name: RailName, proof: "verified" | "unproved" | "lead lost"): RunEvent {
  return { kind: "rail-fall", rail: name, proof, volts: 0.4, tookMs: 900 };
}

const powerUp: RunEvent[] = [
  {
    kind: "controller",
    model: "CONTROLLER",
    serial: "0",
    firmware: "1.0",
    resetCause: "POR",
    bootCount: 3,
  },
  { kind: "phase", phase: "checking supplies" },
  ...railNames.map((name) => gate(name, "source")),
  { kind: "phase", phase: "heating" },
  { kind: "rail-switched", rail: "heater", on: true },
  gate("heater", "board"),
  { kind: "phase", phase: "raising bias" },
  { kind: "rail-switched", rail: "bias", on: true },
  gate("bias", "board"),
  { kind: "trips-armed", armed: true },
  { kind: "phase", phase: "raising plate" },
  { kind: "rail-switched", rail: "plate", on: true },
  gate("plate", "board"),
];

const warmUp: RunEvent[] = [
  { kind: "phase", phase: "warming up" },
  { kind: "lines", set: { SET: "high", RESET: "low" } },
  { kind: "watch", readings: [reading("plate.board", 47.9), reading("Q", 44.9)] },
  { kind: "net-warm", net: "QN", volts: 9.9, validMs: 11_200, steadyMs: null },
  { kind: "net-warm", net: "Q", volts: 9.6, validMs: 11_400, steadyMs: null },
  { kind: "net-warm", net: "QN", volts: 9.7, validMs: 11_200, steadyMs: 14_300 },
  { kind: "net-warm", net: "Q", volts: 9.4, validMs: 11_400, steadyMs: 14_400 },
  { kind: "warm-up-ended", warm: true, tookMs: 14_400, cold: [] },
];

function progress(part: "hold" | "flip", elapsedMs: number): RunEvent {
  const low = { lowV: 9.3, highV: 9.8 };
  const high = { lowV: 44.7, highV: 45.3 };
  return {
    kind: "hold-progress",
    step: 1,
    part,
    elapsedMs,
    forMs: part === "hold" ? 120_000 : 5000,
    readingSets: Math.round(elapsedMs / 250),
    moves: part === "hold" ? Math.round(elapsedMs / 500) : 0,
    worst: part === "hold" ? { Q: high, QN: low } : { Q: low, QN: high },
  };
}

const steps: RunEvent[] = [
  { kind: "phase", phase: "stepping" },
  { kind: "step-begun", step: 0, name: "reset" },
  { kind: "lines", set: { SET: "low", RESET: "high" } },
  { kind: "reading", step: 0, part: "pattern", readings: healthyNets({ Q: "low", QN: "high" }) },
  { kind: "step-ended", step: 0, result: "pass" },
  { kind: "phase", phase: "holding" },
  { kind: "step-begun", step: 1, name: "Q set" },
  { kind: "lines", set: { SET: "high" } },
  { kind: "lines", set: { SET: "low" } },
  {
    kind: "reading",
    step: 1,
    part: "inactive",
    readings: [judgedLine("SET", "low", 0.2), judgedLine("RESET", "low", 0.3)],
  },
  { kind: "reading", step: 1, part: "hold", readings: healthyNets({ Q: "high", QN: "low" }) },
  progress("hold", 60_000),
  progress("hold", 120_000),
  { kind: "lines", set: { RESET: "high" } },
  { kind: "reading", step: 1, part: "flip", readings: healthyNets({ Q: "low", QN: "high" }) },
  progress("flip", 5000),
  { kind: "step-ended", step: 1, result: "pass" },
];

export const powerDown: RunEvent[] = [
  { kind: "phase", phase: "powering down" },
  { kind: "rail-switched", rail: "plate", on: false },
  fall("plate", "verified"),
  { kind: "rail-switched", rail: "bias", on: false },
  fall("bias", "verified"),
  { kind: "rail-switched", rail: "heater", on: false },
  fall("heater", "verified"),
];

export function closed(
  verdict: Extract<RunEvent, { kind: "run-closed" }>["verdict"],
  cause: Extract<RunEvent, { kind: "run-closed" }>["cause"] = "completed",
): RunEvent {
  return {
    kind: "run-closed",
    cause,
    detail: "",
    verdict,
    wall: "2026-05-02T10:02:40.000+00:00",
  };
}

/** Power-up, warm-up, both steps, power-down: all as it should be. */
export const healthyEvents: readonly RunEvent[] = [
  opened,
  ...powerUp,
  ...warmUp,
  ...steps,
  ...powerDown,
  closed("pass"),
];

/** The healthy run up to and with the last event that `last` accepts. */
export function healthyUpTo(last: (event: RunEvent) => boolean): RunEvent[] {
  const at = healthyEvents.findLastIndex(last);
  if (at === -1) {
    throw new RangeError("Expected an event of the healthy run, none was accepted.");
  }
  return healthyEvents.slice(0, at + 1);
}
