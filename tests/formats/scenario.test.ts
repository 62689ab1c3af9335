import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { documentOf } from "../../src/formats/load-document.ts";
import type { FileProblem } from "../../src/formats/problem.ts";
import { loadScenario } from "../../src/formats/scenario.schema.ts";
import { scenarioNameProblems } from "../../src/plan/scenario-names.ts";
import { shippedBoard } from "../simulate/fixture/step-through.ts";

const TEXT = readFileSync(
  join(import.meta.dirname, "../../sequences/flasher-latch/night.yaml"),
  "utf8",
);
const latch = shippedBoard("flasher-latch");

function spoilt(from: string, to: string): readonly FileProblem[] {
  expect(TEXT).toContain(from);
  const loaded = loadScenario(TEXT.replace(from, to), "night.yaml");
  return loaded.ok ? scenarioNameProblems(loaded.document, latch) : loaded.problems;
}

/** Line and column of some text, from 1. */
function spotOf(text: string, within = TEXT): { readonly line: number; readonly column: number } {
  const before = within.slice(0, within.indexOf(text)).split("\n");
  return { line: before.length, column: (before.at(-1)?.length ?? 0) + 1 };
}

describe("a scenario file", () => {
  it("that ships loads, and names only what its board has", () => {
    const document = documentOf(loadScenario(TEXT, "night.yaml"));
    expect(scenarioNameProblems(document, latch)).toEqual([]);
    expect(document.value.sections).toEqual([
      {
        section: "V1b",
        emissionPercent: 100,
        lossPercentPerHour: 1.2,
        loses: "area",
        fromHours: 2,
      },
    ]);
  });

  it.each([
    ["seed: 1003", "seed: soon", "soon"],
    ["meanC: 18", "meanC: 180", "180"],
    ["glitch: pull", "glitch: push", "push"],
    ["mishap: spoiled line", "mishap: eaten line", "eaten line"],
    ["section: V1b", "section: V9b", "V9b"],
    ["net: Q,", "net: QQ,", "QQ"],
    ["walkPercent: 0.05", "walkPercents: 0.05", "walkPercents"],
  ])("with %s written as %s is refused at its place", (from, to, offending) => {
    const problems = spoilt(from, to);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({
      file: "night.yaml",
      offending,
      ...spotOf(offending, TEXT.replace(from, to).replace(from, to)),
    });
  });

  it("names what was probably meant", () => {
    expect(spoilt("section: V1b", "section: V1c")[0]?.whatToDo).toMatch(/V1a|V1b/);
  });

  it.each([
    ["both", "atHours: 5.2", "atHours: 5.2, timesPerHour: 1"],
    ["none", ", atHours: 5.2", ""],
  ])("that says of a glitch %s of when and how often is refused", (_, from, to) => {
    expect(spoilt(from, to)[0]?.reason).toContain("either atHours or timesPerHour");
  });

  it("refuses a rail that the rig does not switch, at its key", () => {
    const text = TEXT.replace("  bias:", "  grid:");
    const loaded = loadScenario(text, "night.yaml");
    expect(loaded.ok).toBe(false);
  });
});
