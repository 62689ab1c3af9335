import { describe, expect, it } from "vitest";
import type { ChannelReading, JudgedReading, RunEvent } from "../../../src/events/events.ts";
import { DriftFeed, driftBoardOf } from "../../../src/verdict/drift/drift-feed.ts";
import { latchPlan } from "../../run/latch-plan.ts";

const MINUTE = 60_000;

function reading(channel: string, volts: number | null): ChannelReading {
  const noReading = volts === null ? "torn" : null;
  return { channel, volts, noReading, sum: 0, count: 0, min: 0, max: 0 };
}

function judged(net: string, expected: "low" | "high", volts: number | null): JudgedReading {
  const rest = { result: "pass", reason: "as expected", limitV: null, marginV: null } as const;
  return { ...reading(net, volts), class: expected, expected, ...rest };
}

function readings(set: number, onMs: number): RunEvent {
  return {
    kind: "soak-readings",
    set,
    cycle: 10 * set,
    moment: "settled",
    onMs,
    steps: [{ step: 2, readings: [judged("Q", "low", 11.5), judged("QN", "high", null)] }],
    rails: [reading("plate.board", 48.1), reading("bias.board", null), reading("plate.current", 5)],
    referenceV: 4.98,
    celsius: null,
  };
}

function legBegun(leg: number): RunEvent {
  const wall = "2026-05-01T22:00:00.000Z";
  return { kind: "leg-begun", leg, why: "power cycle", wall, gapMs: null, tornBytes: 0 };
}

describe("drift feed", () => {
  it("takes volts, rails and class of every reading, and makes up none", () => {
    const feed = new DriftFeed();
    expect(feed.take({ kind: "remark", text: "warm" })).toBe(false);
    expect(feed.take(readings(1, 30 * MINUTE))).toBe(true);
    expect(feed.sets).toEqual([
      {
        set: 1,
        leg: 1,
        onHours: 0.5,
        minutesOn: 30,
        moment: "settled",
        readings: [
          { step: 2, net: "Q", class: "low", volts: 11.5 },
          { step: 2, net: "QN", class: "high", volts: null },
        ],
        rails: { plate: 48.1 },
        referenceV: 4.98,
        celsius: null,
      },
    ]);
  });

  it("adds up time on over the legs, for a cathode does not wear while it is off", () => {
    const feed = new DriftFeed();
    const events = [
      legBegun(1),
      readings(1, 60 * MINUTE),
      readings(2, 120 * MINUTE),
      legBegun(2),
      readings(3, 30 * MINUTE),
    ];
    for (const event of events) feed.take(event);
    const found = feed.sets.map(({ leg, onHours, minutesOn }) => ({ leg, onHours, minutesOn }));
    expect(found).toEqual([
      { leg: 1, onHours: 1, minutesOn: 60 },
      { leg: 1, onHours: 2, minutesOn: 120 },
      { leg: 2, onHours: 2.5, minutesOn: 30 },
    ]);
  });

  it("knows from the plan which section drives which net, and which nets are read", () => {
    const board = driftBoardOf(latchPlan());
    expect(board.stages.map(({ section, output }) => `${section} ${output}`)).toEqual([
      "V1a QN",
      "V1b Q",
    ]);
    expect([...board.measured].sort()).toEqual(["Q", "QN"]);
  });
});
