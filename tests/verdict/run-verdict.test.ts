import { describe, expect, it } from "vitest";
import { runVerdict, worseVerdict } from "../../src/verdict/run-verdict.ts";

describe("runVerdict", () => {
  // The whole truth table of the rule: each count is none or some.
  it.each([
    // passed, failed, voided, missing, verdict
    [0, 0, 0, 0, "not tested"],
    [9, 0, 0, 0, "pass"],
    [0, 0, 0, 1, "not tested"],
    [9, 0, 0, 1, "not tested"],
    [0, 0, 1, 0, "void"],
    [9, 0, 1, 0, "void"],
    [0, 0, 1, 1, "void"],
    [9, 0, 1, 1, "void"],
    [0, 1, 0, 0, "fail"],
    [9, 1, 0, 0, "fail"],
    [0, 1, 0, 1, "fail"],
    [9, 1, 0, 1, "fail"],
    [0, 1, 1, 0, "fail"],
    [9, 1, 1, 0, "fail"],
    [0, 1, 1, 1, "fail"],
    [9, 1, 1, 1, "fail"],
  ] as const)(
    "%d passed, %d failed, %d void, %d missing: %s",
    (passed, failed, voided, missing, verdict) => {
      expect(runVerdict({ passed, failed, voided, missing })).toBe(verdict);
    },
  );

  it("refuses a count that is none", () => {
    expect(() => runVerdict({ passed: 1, failed: -1, voided: 0, missing: 0 })).toThrow(/failed/);
    expect(() => runVerdict({ passed: 1, failed: 0, voided: 0.5, missing: 0 })).toThrow(/voided/);
  });
});

describe("worseVerdict", () => {
  it("never improves on either", () => {
    expect(worseVerdict("pass", "fail")).toBe("fail");
    expect(worseVerdict("void", "not tested")).toBe("void");
    expect(worseVerdict("not tested", "pass")).toBe("not tested");
    expect(worseVerdict("pass", "pass")).toBe("pass");
  });
});
