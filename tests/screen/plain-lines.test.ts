import { describe, expect, it } from "vitest";
import type { JournalEntry, JudgedReading, RunEvent } from "../../src/events/events.ts";
import { foldEvent, initialSnapshot } from "../../src/journal/fold.ts";
import { jsonLine, plainLine } from "../../src/screen/plain-lines.ts";
import { examplePlan } from "./example-run.ts";

function read(channel: string, volts: number | null) {
  return {
    channel,
    volts,
    noReading: volts === null ? ("torn" as const) : null,
    sum: 0,
    count: 16,
    min: 0,
    max: 0,
  };
}

function judged(
  channel: string,
  volts: number | null,
  more: Omit<JudgedReading, keyof ReturnType<typeof read>>,
): JudgedReading {
  return { ...read(channel, volts), ...more };
}

const events: readonly RunEvent[] = [
  {
    kind: "run-opened",
    format: "holdfast-journal",
    version: 1,
    run: "run-0001",
    unit: "LV-0012",
    bench: "emulated bench",
    seed: 7,
    wall: "2026-05-01T08:00:00.000+00:00",
    program: "holdfast 0.1.0",
    rule: "simple acceptance; uncertainty not evaluated",
    plan: examplePlan,
  },
  {
    kind: "controller",
    model: "HF-328",
    serial: "0001",
    firmware: "1.0.0",
    resetCause: "EXT",
    bootCount: 3,
  },
  { kind: "phase", phase: "checking supplies" },
  {
    kind: "gate",
    gate: "source",
    rail: "plate",
    reading: read("plate.source", 48.02),
    lowV: 45.6,
    highV: 50.4,
    open: true,
    waitedMs: 12,
  },
  {
    kind: "gate",
    gate: "board",
    rail: "bias",
    reading: read("bias.board", null),
    lowV: -26.4,
    highV: -21.6,
    open: false,
    waitedMs: 500,
  },
  { kind: "rail-switched", rail: "heater", on: true },
  { kind: "trips-armed", armed: true },
  { kind: "lines", set: { SET: "high", RESET: "low" } },
  { kind: "watch", readings: [read("plate.board", 47.9)] },
  { kind: "net-warm", net: "QN", volts: 8.13, validMs: 8200, steadyMs: 11_400 },
  { kind: "warm-up-ended", warm: true, tookMs: 12_800, cold: [] },
  { kind: "warm-up-ended", warm: false, tookMs: 60_000, cold: [{ net: "Q", volts: 46.2 }] },
  { kind: "step-begun", step: 3, name: "Q set" },
  {
    kind: "reading",
    step: 3,
    part: "hold",
    readings: [
      judged("Q", 42.86, {
        class: "high",
        expected: "high",
        result: "pass",
        reason: "as expected",
        limitV: 36,
        marginV: 6.86,
      }),
      judged("QN", 16.2, {
        class: "low",
        expected: "low",
        result: "fail",
        reason: "margin short",
        limitV: 14,
        marginV: -2.2,
      }),
      judged("SET", null, {
        class: null,
        expected: "low",
        result: "void",
        reason: "no reading",
        limitV: null,
        marginV: null,
      }),
    ],
  },
  {
    kind: "hold-progress",
    step: 3,
    part: "hold",
    elapsedMs: 61_250,
    forMs: 120_000,
    readingSets: 245,
    moves: 122,
    worst: { Q: { lowV: 42.7, highV: 42.9 } },
  },
  { kind: "step-ended", step: 3, result: "fail" },
  {
    kind: "controller-event",
    event: "tripped",
    detail: "code 950 above 900",
    channel: "plate.board",
    volts: 56.1,
  },
  { kind: "stop-requested", by: "person", detail: "key s" },
  { kind: "rail-fall", rail: "plate", proof: "verified", volts: 3.2, tookMs: 812.4 },
  { kind: "rail-fall", rail: "bias", proof: "lead lost", volts: null, tookMs: null },
  { kind: "remark", text: "two lines\nand a bell \u0007" },
  { kind: "fault", code: "journal-fault", message: "The disk is full.", net: null },
  {
    kind: "run-closed",
    cause: "trip",
    detail: "plate.board",
    verdict: "void",
    wall: "2026-05-01T08:03:00.000+00:00",
  },
];

const entries: readonly JournalEntry[] = events.map((event, n) => ({
  n,
  ms: n * 137,
  before: "0".repeat(64),
  event,
}));

describe("plainLine(entry, snapshot)", () => {
  it("tells each kind of event on one line", async () => {
    let run = initialSnapshot();
    const lines = entries.map((entry) => {
      run = foldEvent(run, entry);
      return plainLine(entry, run) ?? `(${entry.event.kind}: no line)`;
    });
    for (const line of lines) expect(line).not.toMatch(/\p{Cc}/u);
    await expect(`${lines.join("\n")}\n`).toMatchFileSnapshot("../golden/plain-lines.txt");
  });

  it("has an example of every kind of event in this file", () => {
    const kinds = new Set(events.map((event) => event.kind));
    expect(kinds.size).toBe(20);
  });
});

describe("jsonLine(entry)", () => {
  it("gives back the sealed entry", () => {
    for (const entry of entries) {
      const line = jsonLine(entry);
      expect(line).not.toContain("\n");
      expect(JSON.parse(line)).toEqual(entry);
    }
  });
});
