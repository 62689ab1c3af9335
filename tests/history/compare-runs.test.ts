/** What counts as a change between two runs, and what else is told. */
import { describe, expect, it } from "vitest";
import { compareLevels, differences } from "../../src/history/compare-runs.ts";
import { factsOf } from "../store/run-index/facts-of.ts";
import { result } from "./rows.ts";

const known = (meanV: number, meanExpandedV: number | null) =>
  result({ channel: "Q", meanV, meanExpandedV });

describe("compareLevels", () => {
  it("calls a change one only beyond the root sum of squares of both uncertainties", () => {
    // 3-4-5: two values known to 0.3 and 0.4 V differ by a change known to 0.5 V (JCGM 100:2008, 5.1.2).
    const then = [known(11, 0.3)];
    const [inside] = compareLevels(then, [known(11.49, 0.4)]);
    expect(inside).toMatchObject({ found: "within uncertainty", expandedV: 0.5 });
    const [beyond] = compareLevels(then, [known(11.51, 0.4)]);
    expect(beyond).toMatchObject({ found: "changed", thenV: 11, nowV: 11.51 });
    const [down] = compareLevels(then, [known(10.49, 0.4)]);
    expect(down?.found).toBe("changed");
    expect(down?.changeV).toBeCloseTo(-0.51, 12);
  });

  it("judges nothing where the uncertainty of either run is not evaluated", () => {
    const [one] = compareLevels([known(11, null)], [known(18, 0.4)]);
    expect(one).toMatchObject({ found: "not evaluated", expandedV: null, changeV: 7 });
  });

  it("holds a worst case against a worst case and never against a mean", () => {
    const without = (worstV: number) =>
      result({ channel: "Q", meanV: null, meanExpandedV: null, worstV, worstExpandedV: 0.1 });
    expect(compareLevels([without(12)], [without(13)])).toMatchObject([
      { of: "worst case", found: "changed" },
    ]);
    expect(compareLevels([without(12)], [known(13, 0.1)])).toEqual([]);
  });

  it("leaves driven lines out, and levels that one run has not", () => {
    const line = result({ channel: "SET", kind: "driven line" });
    const high = result({ channel: "Q", expected: "high" });
    expect(compareLevels([line, high], [line, result({ channel: "Q" })])).toEqual([]);
  });
});

describe("differences", () => {
  const { run } = factsOf({ run: "first" }, "LV-T031");

  it("names what else is not the same, so that no change is laid to the board alone", () => {
    const now = { ...run, rig: "wheelhouse", sequenceSha256: "dd", calibration: "0123456789ab" };
    expect(differences(run, now)).toEqual([
      "another rig (cabin-bench, now wheelhouse)",
      "the sequence file changed",
      "another calibration (none, now 0123456789ab)",
    ]);
    expect(differences(run, run)).toEqual([]);
  });
});
