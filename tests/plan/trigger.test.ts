/** An output to an oscilloscope: no line of the board, and no name of the board's either. */
import { describe, expect, it } from "vitest";
import { problemLine } from "../../src/formats/problem.ts";
import { releasedLevels } from "../../src/run/line-book.ts";
import { PROOF_TEXTS, type ProofTexts, resolveTexts, spoil } from "./proof-texts.ts";

const SCOPE = "{ output: 8, line: SCOPE, drive: trigger }";

function withOutputs(...outputs: readonly string[]): ProofTexts {
  const rows = outputs.map((output) => `  - ${output}\n`).join("");
  return { ...PROOF_TEXTS, rig: spoil(PROOF_TEXTS.rig, "channels:\n", `${rows}channels:\n`) };
}

function problemsOf(texts: ProofTexts): string[] {
  const result = resolveTexts(texts);
  return result.ok ? [] : result.problems.map(problemLine);
}

describe("a trigger in a rig", () => {
  it("stands in the plan beside the lines and is none of them", () => {
    const result = resolveTexts(withOutputs(SCOPE));
    if (!result.ok) throw new Error(result.problems.map(problemLine).join("\n"));
    expect(result.plan.trigger).toEqual({ line: "SCOPE", output: 8 });
    expect(result.plan.lines.map(({ line }) => line)).not.toContain("SCOPE");
    expect(releasedLevels(result.plan)["SCOPE"]).toBe("low");
    expect(result.plan.claims.join(" ")).not.toContain("SCOPE");
  });

  it("is missing from the plan of a rig without one", () => {
    const result = resolveTexts(PROOF_TEXTS);
    expect(result.ok && "trigger" in result.plan).toBe(false);
  });

  it.each([
    ["a line's name", ["{ output: 8, line: LAMP, drive: trigger }"], "board uses this name"],
    ["a rail's name", ["{ output: 8, line: plate, drive: trigger }"], "board uses this name"],
    ["a net's name", ["{ output: 8, line: Q, drive: trigger }"], "board uses this name"],
    ["a rail's output", ["{ output: 3, line: SCOPE, drive: trigger }"], "outputs 4 to 8"],
    [
      "a second one",
      [SCOPE, "{ output: 7, line: SCOPE2, drive: trigger }"],
      "a second trigger, expected one at most",
    ],
  ])("is refused with %s", (_, outputs, said) => {
    expect(problemsOf(withOutputs(...outputs)).join("\n")).toContain(said);
  });

  it("may be set by no step and read by no channel", () => {
    const set = withOutputs(SCOPE);
    const sequence = set.sequence.replace("set: {", "set: { SCOPE: high,");
    expect(problemsOf({ ...set, sequence }).join("\n")).toContain(
      "SCOPE: the rig drives no such line",
    );
    const channel =
      "channels:\n  - { channel: 16, line: SCOPE, topOhm: 1000000, bottomOhm: 100000, capacitorNf: 33 }\n";
    const rig = spoil(set.rig, "channels:\n", channel);
    expect(problemsOf({ ...set, rig }).join("\n")).toContain("a trigger goes to an instrument");
  });
});
