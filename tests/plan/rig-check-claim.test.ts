/** What a plan says of the newest check of its rig, and what it takes from it. */
import { describe, expect, it } from "vitest";
import type { ChannelQuiet, RigCheckName } from "../../src/events/rig-check.ts";
import { rigCheckClaim, withHum } from "../../src/plan/rig-check-claim.ts";
import { PROOF_TEXTS, resolveTexts } from "./proof-texts.ts";

const HOUR_MS = 3_600_000;
const named: RigCheckName = {
  at: "2026-05-01T09:00:00.000+00:00",
  depth: "full",
  id: "c65b7fee5117",
  fit: true,
  ageMs: 3 * HOUR_MS,
  sameRig: true,
};

function guardedPlan() {
  const rig = `${PROOF_TEXTS.rig}accuracy: { resistorPercent: 1, referencePercent: 5 }\n`;
  const result = resolveTexts({ ...PROOF_TEXTS, rig });
  if (!result.ok) throw new Error("the texts resolve");
  return result.plan;
}

function quiet(channel: string, humV: number, max = 300): ChannelQuiet {
  return { channel, means50: [], means60: [], min: 0, max, tone: null, humV };
}

describe("the claim of a rig's newest check", () => {
  it.each([
    [{}, "rig last checked in full 3 hours ago and found fit (2026-05-01, c65b7fee5117)"],
    [{ ageMs: 20 * 60_000 }, /within the hour/],
    [{ ageMs: 72 * HOUR_MS }, /3 days ago/],
    [{ ageMs: -HOUR_MS }, /on the same day/],
    [{ ageMs: -72 * HOUR_MS }, /at a time that this clock has not reached/],
    [{ fit: false }, /found UNFIT/],
    [{ sameRig: false }, "rig changed since its check of 2026-05-01 (c65b7fee5117)"],
  ])("with %o says how old and how good it is", (change, said) => {
    expect(rigCheckClaim({ ...named, ...change })).toMatch(said);
  });

  it("says that there is none", () => {
    expect(rigCheckClaim(null)).toBe("rig not checked in full before this run");
  });
});

describe("pick-up that a check heard", () => {
  it("stands at the channels, and is no longer said to be unknown", () => {
    const plan = guardedPlan();
    expect(plan.claims.join()).toContain("pick-up on Q, QN not known");
    const one = withHum(plan, [quiet("Q", 0.2)]);
    expect(one.channels.find(({ name }) => name === "Q")?.humV).toBe(0.2);
    expect(one.claims.join()).toContain("pick-up on QN not known");
    expect(one.rule?.remarks.join()).toContain("pick-up on QN not known");
    const both = withHum(plan, [quiet("Q", 0.2), quiet("QN", 0.1)]);
    expect(both.claims.join()).not.toContain("pick-up");
  });

  it("that hides below the lowest code may be one step", () => {
    const heard = withHum(guardedPlan(), [quiet("Q", 0, 0)]);
    // 55 V of 1024 steps.
    expect(heard.channels.find(({ name }) => name === "Q")?.humV).toBeCloseTo(0.0537, 4);
  });
});
