import { describe, expect, it } from "vitest";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { ChannelReading } from "../../src/events/events.ts";
import { ending } from "../../src/run/ending.ts";
import { driveLines, raiseRail } from "../../src/run/hands.ts";
import * as hold from "../../src/run/hold.machine.ts";
import { judgeSet } from "../../src/run/judge-set.ts";
import { LeadBook, showsLead } from "../../src/run/lead-book.ts";
import { LineBook } from "../../src/run/line-book.ts";
import type { RailLook } from "../../src/run/look.ts";
import * as pass from "../../src/run/pass.machine.ts";
import * as power from "../../src/run/power.machine.ts";
import type { RailState, RailWindow } from "../../src/run/rail-book.ts";
import { findRailTrouble } from "../../src/run/rail-checks.ts";
import * as run from "../../src/run/run-guards.ts";
import { createRunParts } from "../../src/run/run-parts.ts";
import { Scribe } from "../../src/run/scribe.ts";
import * as supervision from "../../src/run/supervision.machine.ts";
import * as warmUp from "../../src/run/warm-up.machine.ts";
import { judgeDrivenLine, judgeReading } from "../../src/verdict/judge.ts";
import { latchPlan } from "./latch-plan.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { eventsOf, rehearse, untilEnd } from "./rehearse.ts";
import { ScriptedBench } from "./scripted-bench.ts";

const plan = latchPlan();
const why = ending("trip", "seeded");

function reading(channel: string, volts: number | null): ChannelReading {
  const noReading = volts === null ? "lead not proved" : null;
  return { channel, volts, noReading, sum: 0, count: 16, min: 0, max: 0 };
}

const channel = (name: string) => {
  const found = plan.channels.find((one) => one.name === name);
  if (found === undefined) throw new Error(`no channel ${name}`);
  return found;
};

describe("a lead", () => {
  it.each([
    ["Q", 0.05, false],
    ["Q", 18, false],
    ["Q", 18.1, true],
    ["SET", 44, true],
    ["SET", 0, false],
    ["plate.board", 45.5, false],
    ["plate.board", 48, true],
    ["bias.board", 2.5, false],
    ["bias.board", -24, true],
  ] as const)("of %s at %s V is proved: %s", (name, volts, proved) => {
    expect(showsLead(volts, channel(name), plan)).toBe(proved);
  });

  it("stays proved once it was, and is not proved by no reading", () => {
    const book = new LeadBook(plan);
    expect(book.learn(reading("Q", null), channel("Q"))).toBe(false);
    expect(book.learn(reading("Q", 43), channel("Q"))).toBe(true);
    expect(book.learn(reading("Q", 0), channel("Q"))).toBe(true);
    expect(book.isProved("QN")).toBe(false);
  });
});

describe("LineBook", () => {
  it("begins with every line at its released level and knows when a line last moved", () => {
    const book = new LineBook(plan);
    book.note({ SET: "high" }, 100);
    book.note({ SET: "high" }, 200);
    expect(book.readBack()).toEqual([
      { line: "SET", channel: "SET", level: "high", sinceMs: 100 },
      { line: "RESET", channel: "RESET", level: "low", sinceMs: Number.NEGATIVE_INFINITY },
    ]);
    expect(book.levelOf("LAMP")).toBe("low");
  });
});

describe("orders after the run began to end", () => {
  it("switch no rail on and drive no line", async () => {
    const clock = createVirtualClock();
    const bench = new ScriptedBench({ plan, clock });
    const scribe = new Scribe(new MemoryJournal(clock), () => undefined);
    const parts = createRunParts({ plan, bench, clock, scribe, block: null });
    parts.latch.close("stop key");
    await expect(raiseRail("heater", parts)).rejects.toThrow(/switching heater on.*stop key/);
    await expect(driveLines({ SET: "high" }, parts)).rejects.toThrow(/driving lines.*stop key/);
    expect(bench.requests).toEqual([]);
    expect(parts.rails.everOn("heater")).toBe(false);
  });
});

describe("judgeSet(read, plan)", () => {
  const net = (volts: number | null) => judgeReading(reading("Q", volts), "high", plan);
  const line = (volts: number | null) =>
    judgeDrivenLine(reading("SET", volts), "low", plan.contract);

  it.each([
    ["everything as expected", 0.5, 43, "pass", null],
    ["a net of the wrong class", 0.5, 9, "fail", "first fail"],
    ["a net with its margin short", 0.5, 34, "fail", "first fail"],
    ["a net without a reading", 0.5, null, "void", "first fail"],
    ["a line off its level under a good net", 30, 43, "void", "line off its level"],
    ["a line off its level under a bad net", 30, 9, "void", "line off its level"],
    ["a line without a reading", null, 43, "void", "line off its level"],
  ] as const)("with %s: line %s V, net %s V is %s", (_, lineV, netV, result, cause) => {
    const set = judgeSet({ lines: [line(lineV)], nets: [net(netV)], where: "here" }, plan);
    expect(set.result).toBe(result);
    expect(set.ending?.cause ?? null).toBe(cause);
    if (cause === "line off its level") {
      expect(set.readings.find((one) => one.channel === "Q")?.result).toBe("void");
    }
  });
});

describe("findRailTrouble(looks, book, plan)", () => {
  const good = { heater: 12.6, bias: -24, plate: 48 };
  const looks = (
    change: Partial<typeof good> = {},
    board: Record<string, number | null> = {},
  ): RailLook[] =>
    plan.rails.map((rail) => {
      const volts = { ...good, ...change }[rail.rail];
      const atBoard = board[rail.rail];
      return {
        rail,
        source: reading(rail.sourceChannel, volts),
        board: reading(rail.boardChannel, atBoard === undefined ? volts : atBoard),
      };
    });
  const all = (state: RailState) => ({
    state: () => state,
    window: ({ window }: { readonly window: RailWindow }) => window,
  });

  it("finds none while every raised rail is inside its window", () => {
    expect(findRailTrouble(looks(), all("raised"), plan)).toBeNull();
  });

  it.each([
    ["plate", 50.5, "out of window"],
    ["plate", 55.5, "beyond ceiling"],
    ["bias", -21.5, "out of window"],
    ["bias", -30.5, "beyond ceiling"],
    ["heater", 14.1, "beyond ceiling"],
  ] as const)("finds %s at %s V %s", (rail, volts, kind) => {
    expect(findRailTrouble(looks({ [rail]: volts }), all("raised"), plan)?.kind).toBe(kind);
  });

  it("bears a rail on its way up, but not beyond its ceiling", () => {
    expect(findRailTrouble(looks({}, { plate: 20 }), all("raising"), plan)).toBeNull();
    expect(findRailTrouble(looks({}, { plate: 56 }), all("raising"), plan)?.kind).toBe(
      "beyond ceiling",
    );
  });

  it("takes no reading of a raised rail for being out of window", () => {
    expect(findRailTrouble(looks({}, { plate: null }), all("raised"), plan)?.kind).toBe(
      "out of window",
    );
  });

  it("asks nothing of rails that are off or falling", () => {
    for (const state of ["off", "falling"] as const) {
      expect(findRailTrouble(looks({ plate: 70 }), all(state), plan)).toBeNull();
    }
  });

  it("finds volts between rails and over contacts beyond their ceilings", () => {
    const tight = latchPlan({ ceilings: { ...plan.ceilings, betweenRailsV: 71 } });
    expect(findRailTrouble(looks(), all("raised"), tight)?.detail).toMatch(
      /72\.00 V apart, beyond 71 V/,
    );
    const weak = latchPlan({ ceilings: { ...plan.ceilings, contactDcV: 40 } });
    expect(findRailTrouble(looks(), all("raised"), weak)?.detail).toMatch(
      /beyond the contacts' 40 V/,
    );
    const cathode = latchPlan({ ceilings: { ...plan.ceilings, heaterToCathodeV: 12 } });
    expect(findRailTrouble(looks(), all("raised"), cathode)?.detail).toMatch(
      /from heater to cathode/,
    );
  });
});

describe("guards", () => {
  const powerAt = (position: number) => ({
    context: { rails: ["heater", "bias", "plate"], position } as unknown as power.PowerContext,
  });
  const passAt = (position: number) => ({ context: { plan, position, ending: null } });

  it("of power know the plate, the last rail and an open gate", () => {
    expect([0, 1, 2].map((position) => power.isPlateNext(powerAt(position)))).toEqual([
      false,
      false,
      true,
    ]);
    expect([0, 1, 2].map((position) => power.isLastRail(powerAt(position)))).toEqual([
      false,
      false,
      true,
    ]);
    expect(power.isOpen(null, { open: true })).toBe(true);
    expect(power.isOpen(null, { open: false, ending: why })).toBe(false);
  });

  it("of warm-up know warm from warming and over", () => {
    expect(warmUp.isWarm(null, { kind: "warm" })).toBe(true);
    expect(warmUp.isWarm(null, { kind: "warming" })).toBe(false);
    expect(warmUp.isWarming(null, { kind: "warming" })).toBe(true);
    expect(warmUp.isWarming(null, { kind: "over", ending: why })).toBe(false);
  });

  it("of a pass know its end, a hold and a step that passed", () => {
    expect([0, 2, 3].map((position) => pass.isDone(passAt(position)))).toEqual([
      false,
      false,
      true,
    ]);
    expect([0, 2, 3].map((position) => pass.isHoldNext(passAt(position)))).toEqual([
      false,
      true,
      false,
    ]);
    for (const isPassed of [pass.isPassed, hold.isPassed]) {
      expect(isPassed(null, { result: "pass", ending: null })).toBe(true);
      expect(isPassed(null, { result: "fail", ending: why })).toBe(false);
      expect(isPassed(null, { result: "void", ending: why })).toBe(false);
    }
  });

  it("of a hold know its part and what is due", () => {
    const inPart = (part: hold.HoldPart) => ({ context: { part } as hold.HoldContext });
    expect([hold.isFlip(inPart("hold")), hold.isFlip(inPart("flip"))]).toEqual([false, true]);
    for (const kind of ["read", "move", "end"] as const) {
      expect(hold.isReadDue(null, { kind, atMs: 0 })).toBe(kind === "read");
      expect(hold.isMoveDue(null, { kind, atMs: 0 })).toBe(kind === "move");
    }
  });

  it("of supervision know a good and a suspect look", () => {
    expect(supervision.isGood(null, { kind: "good", scan: 1 })).toBe(true);
    expect(supervision.isGood(null, { kind: "suspect", ending: why })).toBe(false);
    expect(supervision.isSuspect(null, { kind: "suspect", ending: why })).toBe(true);
    expect(supervision.isSuspect(null, { kind: "bad", ending: why })).toBe(false);
  });

  it("of the run go on only without a reason to end", () => {
    expect(run.wentWell(null, null)).toBe(true);
    expect(run.wentWell(null, why)).toBe(false);
  });
});

describe("a line that no warm-up pattern drives high", () => {
  it("is shown high once, alone, before warm-up, and put back", async () => {
    const exercise = [
      { set: { RESET: "low" }, settleMs: 100, pullsLow: ["QN"] },
      { set: { RESET: "high" }, settleMs: 100, pullsLow: ["Q"] },
    ] as const;
    // SET stays out of the patterns; once shown, Q stands high until the first RESET.
    const plan = latchPlan();
    const rehearsal = rehearse({ plan: { ...plan, warmUp: { ...plan.warmUp, exercise } } });
    await untilEnd(rehearsal);
    const lines = eventsOf(rehearsal, "lines").map(({ set }) => set);
    expect(lines.slice(0, 2)).toEqual([{ SET: "high" }, { SET: "low" }]);
  });
});
