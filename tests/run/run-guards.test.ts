/** When a run freezes, stands by or goes on: the predicates on which the root machine decides. */
import { describe, expect, it } from "vitest";
import type { EndCause } from "../../src/events/events.ts";
import { PLAIN_PROOF, type RunConduct } from "../../src/run/conduct.ts";
import { ending } from "../../src/run/ending.ts";
import type { RunContext } from "../../src/run/run.machine.ts";
import {
  freezes,
  goesOn,
  isByHand,
  isDown,
  isRigCheck,
  isSoak,
  standsBy,
  standsByThen,
} from "../../src/run/run-guards.ts";
import { GOES_ON, OVER } from "../../src/run/turn.ts";
import { latchPlan } from "./latch-plan.ts";

function context(conduct: Partial<RunConduct>, cause: EndCause = "completed") {
  const given: RunContext = {
    plan: latchPlan(),
    conduct: { ...PLAIN_PROOF, ...conduct },
    position: 0,
    ending: ending(cause, "seeded"),
    outcome: null,
  };
  return { context: given };
}

const walked = (cause: EndCause | null) => ({
  position: 1,
  ending: cause === null ? null : ending(cause, "seeded"),
});

const troubles: readonly EndCause[] = [
  "stopped by the person",
  "signal",
  "trip",
  "link lost",
  "controller restarted",
  "dead-man",
  "supply refused",
  "not warm",
  "journal fault",
  "internal fault",
];

describe("freezes", () => {
  it.each(["first fail", "line off its level"] as const)("at a judged miss: %s", (cause) => {
    expect(freezes(context({ freezeMs: 1000 }), walked(cause))).toBe(true);
    expect(freezes(context({}), walked(cause))).toBe(false);
  });

  it.each(troubles)("never at %s", (cause) => {
    expect(freezes(context({ freezeMs: 1000 }), walked(cause))).toBe(false);
  });

  it("never at the end of a walk in which all passed", () => {
    expect(freezes(context({ freezeMs: 1000 }), walked(null))).toBe(false);
  });
});

describe("standsBy", () => {
  it("after a pass and after a miss, where it was asked for", () => {
    expect(standsBy(context({ standbyMs: 1000 }), walked(null))).toBe(true);
    expect(standsBy(context({ standbyMs: 1000 }), walked("first fail"))).toBe(true);
    expect(standsBy(context({}), walked(null))).toBe(false);
  });

  it.each([...troubles, "line off its level"] as const)("never after %s", (cause) => {
    expect(standsBy(context({ standbyMs: 1000 }), walked(cause))).toBe(false);
  });
});

describe("standsByThen", () => {
  it("goes from a freeze to standby by what the miss was, once it is over", () => {
    expect(standsByThen(context({ standbyMs: 1000 }, "first fail"), OVER)).toBe(true);
    expect(standsByThen(context({ standbyMs: 1000 }, "first fail"), GOES_ON)).toBe(false);
    expect(standsByThen(context({ standbyMs: 1000 }, "line off its level"), OVER)).toBe(false);
    expect(standsByThen(context({}, "first fail"), OVER)).toBe(false);
  });
});

describe("isByHand, goesOn, isDown", () => {
  it("hands the lines over only in hand mode, and only to somebody with a warm board", () => {
    expect(isByHand(context({ mode: "hand" }), null)).toBe(true);
    expect(isByHand(context({ mode: "hand" }), ending("not warm", "seeded"))).toBe(false);
    expect(isByHand(context({}), null)).toBe(false);
  });

  it("takes a turn for what it says", () => {
    expect(goesOn(null, GOES_ON)).toBe(true);
    expect(goesOn(null, OVER)).toBe(false);
    expect(isDown(null, true)).toBe(true);
    expect(isDown(null, false)).toBe(false);
  });
});

describe("isRigCheck", () => {
  it("walks the relays only in a rig check, and only when every rail came up", () => {
    const check = context({ mode: "rig check" });
    expect(isRigCheck(check, null)).toBe(true);
    expect(isRigCheck(check, ending("supply refused", "seeded"))).toBe(false);
    expect(isRigCheck(context({}), null)).toBe(false);
    expect(isRigCheck(context({ mode: "hand" }), null)).toBe(false);
  });
});

describe("isSoak", () => {
  it("cycles only in a soak, and only when every section is warm", () => {
    const soak = context({ mode: "soak" });
    expect(isSoak(soak, null)).toBe(true);
    expect(isSoak(soak, ending("not warm", "seeded"))).toBe(false);
    expect(isSoak(context({}), null)).toBe(false);
    expect(isSoak(context({ mode: "hand" }), null)).toBe(false);
  });
});
