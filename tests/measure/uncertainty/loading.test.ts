/** Corrections of loading against the worked numbers of tests/references/electronics, by their own citation. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import type { LevelClass } from "../../../src/events/levels.ts";
import { loadingOf } from "../../../src/measure/uncertainty/loading.ts";

interface Row {
  readonly topOhm: number;
  readonly bottomOhm: number;
  readonly loadingPercent: Readonly<Record<string, number>>;
}
const { plain } = JSON.parse(
  readFileSync(
    new URL("../../references/electronics/divider-worked-numbers.json", import.meta.url),
    "utf8",
  ),
) as { readonly plain: readonly Row[] };

const cases = plain.flatMap(({ topOhm, bottomOhm, loadingPercent }) =>
  Object.entries(loadingPercent).map(
    ([ohm, percent]) => [topOhm, bottomOhm, Number(ohm), percent] as const,
  ),
);

describe("loading by a plain divider", () => {
  it.each(cases)("%d / %d on %d ohm is taken out again", (topOhm, bottomOhm, ohm, percent) => {
    // A node of 100 V reads low by the published per cent; the correction has to bring it back.
    const readV = 100 + percent;
    const source = { lowOhm: 1, highOhm: ohm, part: 0 };
    const divider = { topOhm, bottomOhm, pullUpOhm: null };
    const { correctionV, term } = loadingOf(readV, "high", divider, { source, referenceV: 5 });
    expect(readV + correctionV).toBeCloseTo(100, 1);
    expect(term.u).toBe(0);
  });
});

describe("loading", () => {
  const divider = { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null };
  const source = { lowOhm: 10_000, highOhm: 44_000, part: 0.1 };
  const at = (volts: number, found: LevelClass) =>
    loadingOf(volts, found, divider, { source, referenceV: 5 });

  it("is another in each state", () => {
    expect(at(11, "low").correctionV).toBeCloseTo(0.1, 9);
    expect(at(11, "high").correctionV).toBeCloseTo(0.44, 9);
  });

  it("is known as well as the source is", () => {
    expect(at(11, "high").term).toMatchObject({ shape: "rectangular" });
    expect(at(11, "high").term.halfV).toBeCloseTo(0.044, 9);
  });

  it("of a net in neither state may be that of either", () => {
    const { correctionV, term } = at(22, "between");
    expect(correctionV).toBeCloseTo(0.54, 9);
    // Half of 0.88 - 0.2 V, and a tenth of the larger as a rectangle.
    expect(term.u).toBeCloseTo(Math.hypot(0.34, 0.088 / Math.sqrt(3)), 9);
  });

  it("of a source that is not known is bounded and not corrected", () => {
    const bare = loadingOf(11, "low", divider, { source: undefined, referenceV: 5 });
    expect(bare.correctionV).toBe(0);
    expect(bare.term.halfV).toBeCloseTo(1, 9);
    expect(bare.term.basis).toContain("not known");
  });

  it("with a pull-up goes towards where the open pin stands", () => {
    const offset = { topOhm: 220_000, bottomOhm: 22_000, pullUpOhm: 22_000 };
    // The open pin stands at 2.5 V, the divider at 231 k: a grid at -20 V is pulled up.
    const { correctionV } = loadingOf(-20, "low", offset, {
      source: { lowOhm: 23_100, highOhm: 1, part: 0 },
      referenceV: 5,
    });
    expect(correctionV).toBeCloseTo(-2.25, 9);
  });
});
