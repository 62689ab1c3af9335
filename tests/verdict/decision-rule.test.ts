/**
 * The four-way rule against the bounds that ILAC-G8:09/2019 prints for its guard bands
 * (tests/references/statistics/guard-bands-ilac-g8-iso-14253.json), and the words of DESIGN for the bands.
 */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { PlannedRule } from "../../src/events/plan.ts";
import { normalQuantile } from "../../src/measure/statistics/quantiles.ts";
import { goesOn, ruledResult, ruleText, worstResult } from "../../src/verdict/decision-rule.ts";
import { judgeReading } from "../../src/verdict/judge.ts";
import { chanceBeyond } from "../../src/verdict/risk.ts";
import { runVerdict } from "../../src/verdict/run-verdict.ts";

const guarded: PlannedRule = { name: "guarded", evaluated: true, remarks: [] };
const simple: PlannedRule = { name: "simple", evaluated: true, remarks: [] };
const contract = { volV: 14, vilV: 18, vihV: 32, vohV: 36 };

function read(volts: number, expandedV?: number) {
  return {
    channel: "Q",
    volts,
    noReading: null,
    sum: 4000,
    count: 16,
    min: 249,
    max: 251,
    expandedV,
  };
}

describe("the guarded rule", () => {
  it.each([
    [0.5, "pass"],
    [0.4, "pass"],
    [0.39, "conditional pass"],
    [0, "conditional pass"],
    [-0.01, "conditional fail"],
    [-0.4, "conditional fail"],
    [-0.41, "fail"],
  ] as const)("with %d V of room and U of 0.4 V gives %s", (marginV, result) => {
    expect(ruledResult(marginV, 0.4, guarded)).toBe(result);
  });

  it("has no ground to judge without U", () => {
    expect(ruledResult(3, null, guarded)).toBeNull();
    expect(judgeReading(read(9), "low", { contract, rule: guarded })).toMatchObject({
      result: "void",
      reason: "uncertainty unknown",
    });
  });

  it("judges both limits of the sender alike, and says which reading stands in the guard band", () => {
    const judge = (volts: number, expected: "low" | "high") =>
      judgeReading(read(volts, 0.4), expected, { contract, rule: guarded });
    expect(judge(13.5, "low")).toMatchObject({ result: "pass", reason: "as expected" });
    expect(judge(13.8, "low")).toMatchObject({
      result: "conditional pass",
      reason: "in guard band",
    });
    expect(judge(14.3, "low")).toMatchObject({
      result: "conditional fail",
      reason: "margin short",
    });
    expect(judge(14.5, "low")).toMatchObject({ result: "fail", reason: "margin short" });
    expect(judge(36.5, "high").result).toBe("pass");
    expect(judge(36.3, "high").result).toBe("conditional pass");
    expect(judge(35.7, "high").result).toBe("conditional fail");
    expect(judge(35.5, "high").result).toBe("fail");
    expect(judge(20, "low")).toMatchObject({ result: "fail", reason: "between", limitV: 18 });
  });

  it("calls a class that is wrong by less than U no fail where sender and receiver share a limit", () => {
    const close = { volV: 18, vilV: 18, vihV: 32, vohV: 32 };
    expect(judgeReading(read(18.2, 0.4), "low", { contract: close, rule: guarded })).toMatchObject({
      class: "between",
      result: "conditional fail",
    });
  });

  it("never passes what simple acceptance fails, nor fails what it passes", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -5, max: 5, noNaN: true }),
        fc.double({ min: 0, max: 3, noNaN: true }),
        (marginV, expandedV) => {
          const four = ruledResult(marginV, expandedV, guarded);
          const two = ruledResult(marginV, expandedV, simple);
          expect(two === "pass").toBe(four === "pass" || four === "conditional pass");
        },
      ),
    );
  });
});

describe("a rule without an evaluated uncertainty", () => {
  it("accepts simply and says so", () => {
    const rule: PlannedRule = { name: "simple", evaluated: false, remarks: [] };
    expect(ruledResult(0, null, rule)).toBe("pass");
    expect(ruledResult(-1e-9, null, rule)).toBe("fail");
    expect(ruleText(rule)).toContain("uncertainty not evaluated");
    expect(ruleText(undefined)).toBe(ruleText(rule));
  });

  it("has words of its own for each rule", () => {
    expect(new Set([ruleText(guarded), ruleText(simple), ruleText(undefined)]).size).toBe(3);
  });
});

describe("results together", () => {
  it("are as bad as the worst of them", () => {
    expect(worstResult([])).toBe("pass");
    expect(worstResult(["pass", "conditional pass", "pass"])).toBe("conditional pass");
    expect(worstResult(["conditional fail", "conditional pass"])).toBe("conditional fail");
    expect(worstResult(["fail", "void", "pass"])).toBe("void");
  });

  it("let a run go on after anything conditional, and after nothing else that is no pass", () => {
    expect(goesOn("conditional pass")).toBe(true);
    expect(goesOn("conditional fail")).toBe(true);
    expect(goesOn("fail")).toBe(false);
    expect(goesOn("void")).toBe(false);
  });

  it("give the run its worst class, and only when nothing is missing", () => {
    const tally = { passed: 5, failed: 0, voided: 0, missing: 0 };
    expect(runVerdict({ ...tally, conditionallyPassed: 1 })).toBe("conditional pass");
    expect(runVerdict({ ...tally, conditionallyPassed: 3, conditionallyFailed: 1 })).toBe(
      "conditional fail",
    );
    expect(runVerdict({ ...tally, conditionallyFailed: 1, missing: 1 })).toBe("not tested");
    expect(runVerdict({ ...tally, conditionallyFailed: 1, failed: 1 })).toBe("fail");
    expect(runVerdict({ ...tally, passed: 0, conditionallyPassed: 2 })).toBe("conditional pass");
  });
});

describe("the chance that a net is beyond its limit", () => {
  interface Rows {
    readonly certified: {
      readonly computed_one_sided: readonly {
        readonly r: string;
        readonly "at_U_equals_1.96u": string;
      }[];
    };
  }
  const { certified } = JSON.parse(
    readFileSync(
      new URL("../references/statistics/guard-bands-ilac-g8-iso-14253.json", import.meta.url),
      "utf8",
    ),
  ) as Rows;

  it.each(certified.computed_one_sided)("with a guard band of $r U is the published one", (row) => {
    const r = Number(row.r);
    expect(chanceBeyond(r * 0.4, 0.4 / normalQuantile(0.975))).toBeCloseTo(
      Number(row["at_U_equals_1.96u"]),
      5,
    );
  });
});
