/** Hand mode, freeze and standby as the fold keeps them and the log tells them. */
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import type { FoldedRun } from "../../src/journal/account.ts";
import { unprovedFalls, verdictAtEnd, verdictInStandby } from "../../src/journal/account.ts";
import { frozenEvents, handEvents } from "./by-person-run.ts";
import { fold } from "./fold-variants.ts";

function upTo(events: readonly RunEvent[], kind: RunEvent["kind"], times = 1): FoldedRun {
  let seen = 0;
  const end = events.findIndex((event) => event.kind === kind && ++seen === times);
  if (end === -1) throw new RangeError(`Expected ${times} of ${kind}.`);
  return fold(events.slice(0, end + 1));
}

function texts({ log }: FoldedRun): string[] {
  return log.map(({ text }) => text);
}

describe("a freeze in the fold", () => {
  it("knows its step, its limit, its turns and how each step last came out", () => {
    expect(upTo(frozenEvents, "freeze-turn", 3).freeze).toMatchObject({
      step: 0,
      limitMs: 300_000,
      trigger: "SCOPE",
      turns: 3,
      newest: "pass",
      newestByStep: { 0: "pass", 1: "pass" },
      loopTo: 1,
    });
  });

  it("tells of a turn when it comes out otherwise than the last of its step, and of no move", () => {
    const run = upTo(frozenEvents, "thawed");
    expect(texts(run).filter((text) => text.startsWith("turn"))).toEqual([
      'turn 1, step 1 "reset": fail',
      'turn 2, step 2 "Q set": pass',
      'turn 3, step 1 "reset": pass',
    ]);
    const turn = frozenEvents.find(({ kind }) => kind === "freeze-turn");
    if (turn === undefined) throw new TypeError("Expected a turn.");
    const first = frozenEvents.slice(0, frozenEvents.indexOf(turn) + 1);
    const again = fold([...first, { kind: "lines", set: { SET: "low" } }, turn]);
    expect(texts(again)).toEqual(texts(fold(first)));
  });

  it("is over with its phase, also when nobody wrote that it thawed", () => {
    const before = frozenEvents.findIndex(({ kind }) => kind === "thawed");
    const run = fold([...frozenEvents.slice(0, before), { kind: "phase", phase: "powering down" }]);
    expect(run.freeze).toBeNull();
  });

  it("does not change the verdict that the miss gave", () => {
    const run = upTo(frozenEvents, "freeze-turn", 3);
    expect(run.account).toEqual(upTo(frozenEvents, "frozen").account);
  });
});

describe("standby in the fold", () => {
  it("counts the heaters as unproved while it lasts, and says how the run would close if they are kept", () => {
    const run = upTo(frozenEvents, "standby-begun");
    expect(unprovedFalls(run)).toEqual(["heater"]);
    expect(run.standby).toMatchObject({ limitMs: 600_000, verdict: "fail" });
    expect(verdictInStandby(run, "first fail")).toBe("fail");
  });

  it("closes as what was found, with the heaters kept on and held against nobody", () => {
    const run = fold(frozenEvents);
    expect(unprovedFalls(run)).toEqual([]);
    expect(run.account.doubts).toEqual([]);
    expect(verdictAtEnd(run, "first fail")).toBe("fail");
    expect(texts(run)).toContain("heater kept ON for the next run");
  });
});

describe("hand mode in the fold", () => {
  it("keeps lines and readings and judges none of them", () => {
    const run = upTo(handEvents, "hand-reading", 2);
    expect(run.hand).toMatchObject({ limitMs: 900_000 });
    expect(run.lines).toMatchObject({ SET: "low" });
    expect(run.channels.find(({ channel }) => channel === "Q")).toMatchObject({
      volts: 45.1,
      class: "high",
      result: null,
    });
    expect(run.account).toMatchObject({ passed: 0, failed: 0, voided: 0 });
  });

  it("says of heaters taken over since when they were on", () => {
    const run = upTo(handEvents, "hand-begun");
    expect(run.rails.find(({ rail }) => rail === "heater")?.takenOverMs).toBe(312_000);
    expect(texts(run)).toContain("heater taken over, on for 312.0 s already");
  });
});
