/** Nothing that a file asks for wrongly moves a relay: each refusal with its place and words. */
import { describe, expect, it } from "vitest";
import { problemLine } from "../../src/formats/problem.ts";
import { PROOF_TEXTS, resolveTexts, spoil } from "./proof-texts.ts";
import {
  HOLD_CASES,
  NAME_CASES,
  type RefusalCase,
  TIME_CASES,
  VOLTS_CASES,
} from "./refusal-cases.ts";

const groups: readonly (readonly [string, readonly RefusalCase[]])[] = [
  ["names and wiring", NAME_CASES],
  ["volts", VOLTS_CASES],
  ["times", TIME_CASES],
  ["holds, warm-up and length", HOLD_CASES],
];

function spoilt(one: RefusalCase) {
  return { ...PROOF_TEXTS, [one.file]: spoil(PROOF_TEXTS[one.file], one.from, one.to) };
}

describe.each(groups)("resolvePlan(), by %s", (_group, cases) => {
  it.each(cases)("refuses $what", (one) => {
    const result = resolveTexts(spoilt(one));
    const problems = result.ok ? [] : result.problems;
    expect(problems.map(problemLine)).toEqual(one.says);
    expect(problems.map((problem) => problem.code)).toContain(one.code);
  });

  it.each(cases)("points at the text it repeats: $what", (one) => {
    const texts = spoilt(one);
    const result = resolveTexts(texts);
    for (const problem of result.ok ? [] : result.problems) {
      const file = problem.file.replace(".yaml", "") as keyof typeof texts;
      const line = texts[file].split("\n")[(problem.line ?? 0) - 1] ?? "";
      const there = line.slice((problem.column ?? 0) - 1);
      expect(there.startsWith(problem.offending.replace(/\.\.\.$/, ""))).toBe(true);
      expect(problem.offending).not.toBe("");
    }
  });
});

describe("resolvePlan()", () => {
  it("tells what is wrong in all three files at once, board first", () => {
    const result = resolveTexts({
      board: spoil(PROOF_TEXTS.board, "betweenRailsV: 85", "betweenRailsV: 80"),
      rig: spoil(PROOF_TEXTS.rig, "drive: relay, sourceV: 48,", "drive: relay, sourceV: 56,"),
      sequence: spoil(PROOF_TEXTS.sequence, "move: [LAMP]", "move: [SET]"),
    });
    const places = result.ok
      ? []
      : result.problems.map(({ file, line, code }) => [file, line, code]);
    expect(places).toEqual([
      ["board.yaml", 10, "CEILING_EXCEEDED"],
      ["rig.yaml", 12, "CEILING_EXCEEDED"],
      ["sequence.yaml", 20, "HOLD_INCOMPLETE"],
    ]);
  });

  it("tells a problem of a repeated step once", () => {
    const sequence = spoil(
      PROOF_TEXTS.sequence,
      "step: set, set: { SET: high }, settleMs: 100",
      "step: set, set: { SET: high }, settleMs: 10",
    );
    const result = resolveTexts({ ...PROOF_TEXTS, sequence });
    expect(result.ok ? 0 : result.problems.length).toBe(1);
  });

  it("refuses a sequence of notes alone", () => {
    const head = PROOF_TEXTS.sequence.slice(0, PROOF_TEXTS.sequence.indexOf("steps:"));
    const result = resolveTexts({ ...PROOF_TEXTS, sequence: `${head}steps:\n  - note: later\n` });
    expect(result.ok ? [] : result.problems.map(problemLine)).toEqual([
      "sequence.yaml:11:1: steps: there are notes but no step; add a step or a hold",
    ]);
  });

  it("knows a load as disconnected and a line as released until a step says otherwise", () => {
    // Neither warm-up nor a step touches LAMP or, here, RESET before the hold.
    const sequence = PROOF_TEXTS.sequence
      .replaceAll(/^ {2}- \{ step: re(set|lease).*\n/gm, "")
      .replace("set: { SET: high, RESET: low }", "set: { SET: high }")
      .replace("set: { SET: low, RESET: high }", "set: { SET: low }")
      .replace(
        "inactive: { SET: low, RESET: low }",
        "inactive: { SET: low, RESET: high, LAMP: high }",
      )
      .replace("move: [LAMP]", "move: []");
    const result = resolveTexts({ ...PROOF_TEXTS, sequence });
    const said = result.ok ? [] : result.problems.map((problem) => problem.reason);
    expect(said).toContain("LAMP is low when this hold begins, expected high");
    expect(said).toContain("RESET is low when this hold begins, expected high");
  });
});
