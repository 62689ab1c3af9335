import { describe, expect, it } from "vitest";
import { compareWithSpice } from "../../references/spice/compare.ts";

describe("the simulated boards and ngspice", () => {
  it("agree on every net at every settled state within 2 % or 0.2 V", () => {
    const comparisons = compareWithSpice();
    // Every stop of both sequences with all their stage outputs.
    expect(comparisons.length).toBeGreaterThan(300);
    expect(comparisons.filter(({ ofTolerance }) => !(ofTolerance <= 1))).toEqual([]);
  });
});
