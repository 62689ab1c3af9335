/** A hand-made plan and snapshots of each phase: two NOR stages of a lamp flasher latch. */
import type { EndCause, Phase } from "../../src/events/events.ts";
import type { LevelClass } from "../../src/events/levels.ts";
import type { Plan, PlannedChannel, PlannedRail, PlannedStep } from "../../src/events/plan.ts";
import type {
  ChannelSnapshot,
  LogLine,
  RailSnapshot,
  RunSnapshot,
  StepSnapshot,
} from "../../src/journal/snapshot.ts";

const divider = { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null };

function rail(
  name: PlannedRail["rail"],
  figures: { nominalV: number; lowV: number; highV: number; ceilingV: number; safeV: number },
): PlannedRail {
  const { lowV, highV } = figures;
  return {
    rail: name,
    output: 1,
    nominalV: figures.nominalV,
    window: { lowV, highV },
    ceilingV: figures.ceilingV,
    safeV: figures.safeV,
    sourceChannel: `${name}.source`,
    boardChannel: `${name}.board`,
    riseMsMax: 500,
    fallMsMax: 1500,
  };
}

function channel(name: string, number: number, reads: PlannedChannel["reads"]): PlannedChannel {
  return { name, number, reads, divider, referenceV: 5 };
}

const lowHigh = { Q: "low", QN: "high" } as const;
const highLow = { Q: "high", QN: "low" } as const;

const exampleSteps: readonly PlannedStep[] = [
  ...["reset", "release", "set"].map(
    (name, index): PlannedStep => ({
      kind: "pattern",
      index,
      name,
      set: { SET: "low", RESET: "high" },
      settleMs: 100,
      expect: lowHigh,
      note: null,
    }),
  ),
  {
    kind: "hold",
    index: 3,
    name: "Q set",
    enter: { SET: "high" },
    release: { SET: "low" },
    inactive: { SET: "low", RESET: "low" },
    expect: highLow,
    move: ["LAMP"],
    moveEveryMs: 500,
    readEveryMs: 250,
    settleMs: 100,
    forMs: 120_000,
    flip: { enter: { RESET: "high" }, release: { RESET: "low" }, expect: lowHigh, forMs: 5000 },
    note: null,
  },
  ...Array.from(
    { length: 20 },
    (_, turn): PlannedStep => ({
      kind: "pattern",
      index: 4 + turn,
      name: `${turn % 2 === 0 ? "set" : "reset"}, turn ${Math.floor(turn / 2) + 1} of 10`,
      set: { SET: "high", RESET: "low" },
      settleMs: 100,
      expect: turn % 2 === 0 ? highLow : lowHigh,
      note: null,
    }),
  ),
];

export const examplePlan: Plan = {
  board: { name: "flasher-latch", revision: "A", title: "Set-reset latch, lamp flasher rack" },
  rig: { name: "cabin-bench" },
  sequence: { name: "flasher-latch-proof" },
  sources: [],
  contract: { volV: 14, vilV: 18, vihV: 32, vohV: 36 },
  rails: [
    rail("heater", { nominalV: 12.6, lowV: 11.9, highV: 13.2, ceilingV: 14, safeV: 2 }),
    rail("bias", { nominalV: -24, lowV: -26.4, highV: -21.6, ceilingV: -30, safeV: 2 }),
    rail("plate", { nominalV: 48, lowV: 45.6, highV: 50.4, ceilingV: 55, safeV: 10 }),
  ],
  ceilings: { betweenRailsV: 85, heaterToCathodeV: 90, contactDcV: 110 },
  lines: [
    {
      line: "SET",
      output: 4,
      drive: "changeover",
      releasedLevel: "low",
      channel: "SET",
      source: { low: { volts: 0, ohm: 1000 }, high: { volts: 44, ohm: 10_000 } },
    },
    {
      line: "RESET",
      output: 5,
      drive: "changeover",
      releasedLevel: "low",
      channel: "RESET",
      source: { low: { volts: 0, ohm: 1000 }, high: { volts: 44, ohm: 10_000 } },
    },
    { line: "LAMP", output: 6, drive: "load", releasedLevel: null, channel: null, source: null },
  ],
  channels: [
    ...(["heater", "bias", "plate"] as const).flatMap((name, index) => [
      channel(`${name}.source`, 2 * index, { kind: "rail", rail: name, at: "source" }),
      channel(`${name}.board`, 2 * index + 1, { kind: "rail", rail: name, at: "board" }),
    ]),
    channel("SET", 6, { kind: "line", line: "SET" }),
    channel("RESET", 7, { kind: "line", line: "RESET" }),
    channel("Q", 8, { kind: "net", net: "Q" }),
    channel("QN", 9, { kind: "net", net: "QN" }),
  ],
  stages: [],
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
  steps: exampleSteps,
  claims: ["easy drive"],
  cautions: [],
  estimatedPassMs: 150_000,
};

function exampleChannel(
  name: string,
  volts: number | null,
  more: Partial<ChannelSnapshot> = {},
): ChannelSnapshot {
  return {
    channel: name,
    volts,
    noReading: null,
    class: null,
    expected: null,
    result: null,
    ...more,
  };
}

/** A reading that is as expected. */
function asExpected(name: string, volts: number, level: LevelClass): ChannelSnapshot {
  return exampleChannel(name, volts, { class: level, expected: level, result: "pass" });
}

const darkRails: readonly RailSnapshot[] = (["heater", "bias", "plate"] as const).map((name) => ({
  rail: name,
  on: false,
  sourceV: null,
  boardV: null,
  inWindow: null,
  fall: null,
  fallV: null,
}));

const liveV = { heater: 12.58, bias: -24.02, plate: 47.91 };

const liveRails: readonly RailSnapshot[] = darkRails.map((one) => ({
  ...one,
  on: true,
  sourceV: liveV[one.rail] * 1.002,
  boardV: liveV[one.rail],
  inWindow: true,
}));

const fallenRails: readonly RailSnapshot[] = darkRails.map((one) => ({
  ...one,
  sourceV: liveV[one.rail],
  boardV: 0.4,
  fall: "verified",
  fallV: 0.4,
}));

function steps(done: number, state: StepSnapshot["state"]): StepSnapshot[] {
  return exampleSteps.map(({ index, name }) => ({
    index,
    name,
    state: index < done ? "pass" : index === done ? state : "waiting",
  }));
}

const log: readonly LogLine[] = [
  { ms: 0, text: "run opened, seed 1", weight: "info" },
  { ms: 210, text: "controller answers, firmware 1.0.0", weight: "info" },
  { ms: 640, text: "heater 12.60 V at its source, inside 11.9 to 13.2 V", weight: "good" },
  { ms: 3900, text: "bias -24.02 V on the board, inside its window", weight: "good" },
  { ms: 4400, text: "plate 47.91 V on the board, inside its window", weight: "good" },
  { ms: 12_800, text: "warm after 12.8 s", weight: "good" },
  { ms: 13_200, text: "step 1, reset: Q 8.12 V low, QN 42.77 V high", weight: "good" },
  { ms: 13_500, text: "step 2, release: Q 8.13 V low, QN 42.75 V high", weight: "good" },
];

const base: RunSnapshot = {
  opened: {
    kind: "run-opened",
    format: "holdfast-journal",
    version: 1,
    run: "run-0001",
    unit: "LV-0012",
    bench: "emulated bench",
    seed: 1,
    wall: "2026-05-01T08:00:00.000+00:00",
    program: "holdfast 0.1.0",
    rule: "simple acceptance; uncertainty not evaluated",
    plan: examplePlan,
  },
  plan: examplePlan,
  ms: 300,
  phase: "connecting",
  controller: null,
  rails: darkRails,
  channels: examplePlan.channels.map((one) => exampleChannel(one.name, null)),
  steps: steps(0, "waiting"),
  hold: null,
  mode: "proof",
  lines: {},
  hand: null,
  freeze: null,
  standby: null,
  warm: [],
  warmUpMs: null,
  log: log.slice(0, 1),
  firstMiss: null,
  stopRequested: false,
  sealedEvents: 3,
  verdict: null,
  cause: null,
  detail: null,
  leftMs: null,
};

function at(phase: Phase, ms: number, more: Partial<RunSnapshot> = {}): RunSnapshot {
  return { ...base, phase, ms, leftMs: 165_000 - ms, ...more };
}

const highLowChannels = [
  asExpected("SET", 0.04, "low"),
  asExpected("RESET", 0.02, "low"),
  asExpected("Q", 42.86, "high"),
  asExpected("QN", 8.12, "low"),
];

function ended(cause: EndCause, more: Partial<RunSnapshot>): RunSnapshot {
  return at("ended", 158_300, {
    rails: fallenRails,
    cause,
    detail: "",
    leftMs: 0,
    warmUpMs: 12_800,
    log,
    channels: highLowChannels,
    ...more,
  });
}

const missedChannels = [
  asExpected("SET", 44.1, "high"),
  asExpected("RESET", 0.02, "low"),
  asExpected("Q", 42.86, "high"),
  exampleChannel("QN", 16.2, { class: "low", expected: "low", result: "fail" }),
];

const missAtSeven = {
  step: 6,
  net: "QN",
  volts: 16.2,
  text: "QN 16.20 V low, margin short: at most 14 V (VOL) wanted",
};

/** One snapshot for each phase a person can meet. */
export const examples: Readonly<Record<string, RunSnapshot>> = {
  nothing: { ...base, opened: null, plan: null, rails: [], channels: [], steps: [], log: [] },
  connecting: base,
  supplies: at("checking supplies", 500, {
    rails: darkRails.map((one) => ({ ...one, sourceV: liveV[one.rail] })),
    log: log.slice(0, 3),
  }),
  heating: at("heating", 2000, {
    rails: liveRails.map((one) => (one.rail === "heater" ? one : { ...one, on: false })),
    log: log.slice(0, 3),
  }),
  "warming-up": at("warming up", 9000, {
    rails: liveRails,
    channels: [
      exampleChannel("Q", 44.3, { class: "high" }),
      exampleChannel("QN", 21.7, { class: "between" }),
    ],
    warm: [{ net: "QN", validMs: 8200, steadyMs: null }],
    log: log.slice(0, 5),
  }),
  stepping: at("stepping", 13_600, {
    rails: liveRails,
    channels: highLowChannels,
    steps: steps(2, "running"),
    log,
  }),
  holding: at("holding", 76_000, {
    rails: liveRails,
    channels: highLowChannels,
    steps: steps(3, "running"),
    hold: {
      step: 3,
      part: "hold",
      elapsedMs: 61_250,
      forMs: 120_000,
      readingSets: 245,
      moves: 122,
    },
    log,
  }),
  stopping: at("powering down", 76_400, {
    rails: liveRails.map((one) => (one.rail === "plate" ? { ...one, on: false } : one)),
    channels: highLowChannels,
    steps: steps(3, "not tested"),
    stopRequested: true,
    log: [...log, { ms: 76_100, text: "stop requested by the person (key s)", weight: "warning" }],
  }),
  pass: ended("completed", { verdict: "pass", steps: steps(24, "pass") }),
  fail: ended("first fail", {
    verdict: "fail",
    channels: missedChannels,
    steps: steps(6, "fail"),
    firstMiss: missAtSeven,
    log: [...log, { ms: 150_000, text: "QN 16.20 V low, margin short", weight: "bad" }],
  }),
  conditional: ended("completed", {
    verdict: "conditional pass",
    firstConditional: {
      step: 6,
      net: "QN",
      volts: 13.85,
      text: "QN read 13.85 ±0.24 V, low, but nearer to its limit than U: at most 14 V",
    },
    steps: steps(24, "pass").map((step) =>
      step.index === 6 ? { ...step, state: "conditional pass" } : step,
    ),
    channels: [
      { ...asExpected("SET", 44.1, "high"), expandedV: 0.71 },
      { ...asExpected("RESET", 0.02, "low"), expandedV: 0.06 },
      { ...asExpected("Q", 42.86, "high"), expandedV: 0.73 },
      exampleChannel("QN", 13.85, {
        class: "low",
        expected: "low",
        result: "conditional pass",
        expandedV: 0.24,
      }),
    ],
  }),
  "by-hand": at("by hand", 61_000, {
    mode: "hand",
    rails: liveRails,
    channels: [
      exampleChannel("SET", 44.1, { class: "high" }),
      exampleChannel("RESET", 0.02, { class: "low" }),
      exampleChannel("Q", 42.86, { class: "high" }),
      exampleChannel("QN", 8.12, { class: "low" }),
    ],
    lines: { SET: "high", RESET: "low" },
    hand: { sinceMs: 20_000, limitMs: 900_000 },
    leftMs: null,
    log,
  }),
  frozen: at("frozen", 151_000, {
    rails: liveRails,
    channels: missedChannels,
    steps: steps(6, "fail"),
    firstMiss: missAtSeven,
    freeze: {
      step: 6,
      sinceMs: 41_000,
      limitMs: 300_000,
      trigger: "SCOPE",
      turns: 12,
      newest: "fail",
      newestByStep: {},
      loopTo: 5,
    },
    leftMs: null,
    log,
  }),
  standby: at("standby", 200_000, {
    rails: fallenRails.map((one) => (one.rail === "heater" ? (liveRails[0] ?? one) : one)),
    channels: highLowChannels,
    steps: steps(24, "pass"),
    standby: { sinceMs: 170_000, limitMs: 600_000, verdict: "pass" },
    leftMs: null,
    log,
  }),
  void: ended("supply refused", {
    verdict: "void",
    steps: steps(0, "not tested"),
    firstMiss: {
      step: null,
      net: "plate.source",
      volts: 41.2,
      text: "plate at its source 41.20 V, expected 45.6 to 50.4 V. Set the supply, or check its leads and its divider",
    },
  }),
  unproved: ended("link lost", {
    verdict: "void",
    steps: steps(3, "void"),
    channels: [
      exampleChannel("SET", null, { noReading: "link lost" }),
      exampleChannel("RESET", null, { noReading: "link lost" }),
      exampleChannel("Q", null, { noReading: "link lost", expected: "high", result: "void" }),
      exampleChannel("QN", null, { noReading: "link lost", expected: "low", result: "void" }),
    ],
    rails: fallenRails.map((one) =>
      one.rail === "heater" ? one : { ...one, fall: "unproved", fallV: null, boardV: null },
    ),
  }),
};
