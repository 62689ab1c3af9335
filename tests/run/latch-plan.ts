/** A set-reset latch as a plan, small enough to walk in a blink; figures of the shipped kind. */
import type { Plan, PlannedChannel, PlannedRail } from "../../src/events/plan.ts";

const referenceV = 5;
const wide = { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null };
const offset = { topOhm: 220_000, bottomOhm: 22_000, pullUpOhm: 22_000 };
const plateDivider = { topOhm: 100_000, bottomOhm: 8200, pullUpOhm: null };
const narrow = { topOhm: 47_000, bottomOhm: 22_000, pullUpOhm: null };

function railChannels(
  rail: PlannedRail["rail"],
  first: number,
  divider: PlannedChannel["divider"],
) {
  return (["source", "board"] as const).map((at, index) => ({
    name: `${rail}.${at}`,
    number: first + index,
    reads: { kind: "rail", rail, at } as const,
    divider,
    referenceV,
  }));
}

function rail(given: Omit<PlannedRail, "sourceChannel" | "boardChannel">): PlannedRail {
  return { ...given, sourceChannel: `${given.rail}.source`, boardChannel: `${given.rail}.board` };
}

const rails: PlannedRail[] = [
  rail({
    rail: "heater",
    output: 1,
    nominalV: 12.6,
    window: { lowV: 11.9, highV: 13.2 },
    ceilingV: 14,
    safeV: 2,
    riseMsMax: 500,
    fallMsMax: 1500,
  }),
  rail({
    rail: "bias",
    output: 2,
    nominalV: -24,
    window: { lowV: -26.4, highV: -21.6 },
    ceilingV: -30,
    safeV: 2,
    riseMsMax: 500,
    fallMsMax: 8000,
  }),
  rail({
    rail: "plate",
    output: 3,
    nominalV: 48,
    window: { lowV: 45.6, highV: 50.4 },
    ceilingV: 55,
    safeV: 10,
    riseMsMax: 500,
    fallMsMax: 1500,
  }),
];

const net = (name: string, number: number): PlannedChannel => ({
  name,
  number,
  reads: { kind: "net", net: name },
  divider: wide,
  referenceV,
});

const line = (name: string, number: number): PlannedChannel => ({
  name,
  number,
  reads: { kind: "line", line: name },
  divider: wide,
  referenceV,
});

const driven = {
  low: { volts: 0, ohm: 1000 },
  high: { volts: 44, ohm: 10_000 },
};

export function latchPlan(change: Partial<Plan> = {}): Plan {
  return {
    board: { name: "flasher-latch", revision: "A", title: "Set-reset latch" },
    rig: { name: "cabin-bench" },
    sequence: { name: "flasher-latch-proof" },
    sources: [],
    contract: { volV: 14, vilV: 18, vihV: 32, vohV: 36 },
    rails,
    ceilings: { betweenRailsV: 85, heaterToCathodeV: 90, contactDcV: 110 },
    lines: [
      {
        line: "SET",
        output: 4,
        drive: "changeover",
        releasedLevel: "low",
        channel: "SET",
        source: driven,
      },
      {
        line: "RESET",
        output: 5,
        drive: "changeover",
        releasedLevel: "low",
        channel: "RESET",
        source: driven,
      },
      { line: "LAMP", output: 6, drive: "load", releasedLevel: null, channel: null, source: null },
    ],
    channels: [
      ...railChannels("heater", 1, narrow),
      ...railChannels("bias", 3, offset),
      ...railChannels("plate", 5, plateDivider),
      net("Q", 7),
      net("QN", 8),
      line("SET", 9),
      line("RESET", 10),
    ],
    stages: [
      {
        stage: "V1a",
        type: "nor",
        position: "V1",
        section: "a",
        inputs: ["SET", "Q"],
        output: "QN",
      },
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
      heaterBeforePlateMs: 1000,
      exercise: [
        { set: { SET: "high", RESET: "low" }, settleMs: 100, pullsLow: ["QN"] },
        { set: { SET: "low", RESET: "high" }, settleMs: 100, pullsLow: ["Q"] },
      ],
      timeoutMs: 6000,
      steadyBandV: 0.3,
      steadyForMs: 400,
    },
    steps: [
      {
        kind: "pattern",
        index: 0,
        name: "reset",
        set: { SET: "low", RESET: "high" },
        settleMs: 100,
        expect: { Q: "low", QN: "high" },
        note: "the lamp is dark",
      },
      {
        kind: "pattern",
        index: 1,
        name: "release",
        set: { RESET: "low" },
        settleMs: 100,
        expect: { Q: "low", QN: "high" },
        note: null,
      },
      {
        kind: "hold",
        index: 2,
        name: "Q set",
        enter: { SET: "high" },
        release: { SET: "low" },
        inactive: { SET: "low", RESET: "low" },
        expect: { Q: "high", QN: "low" },
        move: ["LAMP"],
        moveEveryMs: 500,
        readEveryMs: 250,
        settleMs: 100,
        forMs: 1200,
        flip: {
          enter: { RESET: "high" },
          release: { RESET: "low" },
          expect: { Q: "low", QN: "high" },
          forMs: 600,
        },
        note: null,
      },
    ],
    claims: ["easy drive"],
    cautions: [],
    estimatedPassMs: 4000,
    ...change,
  };
}
