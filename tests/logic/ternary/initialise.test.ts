/** What brings a board from all unknown to all known, on the reference netlists. */
import { describe, expect, it } from "vitest";
import { compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { initialisingSteps } from "../../../src/logic/ternary/initialise.ts";
import { clock, settle } from "../../../src/logic/ternary/settle.ts";
import { allUnknown, inputsOf, UNKNOWN } from "../../../src/logic/ternary/values.ts";
import s27 from "../../references/logic/s27.json" with { type: "json" };
import { benchmarkCircuit } from "../reference-netlists.ts";
import { referenceSteps } from "./reference-steps.ts";

const networkOf = (id: string) => {
  const found = referenceSteps().find(({ title }) => title.startsWith(`${id}:`));
  if (!found) throw new Error(`no network ${id}`);
  return found.circuit;
};

describe("initialising", () => {
  it("takes one step for s27, as its one-step table says: a vector into a known state", () => {
    const circuit = benchmarkCircuit("s27");
    const { shortest } = initialisingSteps(circuit);
    const known = s27.one_step_from_unknown.rows.filter(([, next]) => !next?.includes("X"));
    expect(known.map(([vector]) => vector)).toContain(shortest?.[0]);
    let values = allUnknown(circuit);
    for (const vector of shortest ?? [])
      values = clock(circuit, settle(circuit, values, inputsOf(circuit, vector)).after).after;
    expect(values).not.toContain(UNKNOWN);
    expect(shortest).toHaveLength(1);
  });

  it("sets or resets a latch in one step, and never by holding it", () => {
    const { shortest } = initialisingSteps(networkOf("nor-sr-power-up"));
    expect(shortest).toHaveLength(1);
    expect(shortest?.[0]).toContain("1");
  });

  it("names nets that nothing makes known, having seen everything", () => {
    const found = initialisingSteps(networkOf("critical-race"));
    expect(found.shortest).not.toBeNull();
    const hold = compileCircuit({
      name: "kept",
      inputs: ["A"],
      outputs: [],
      flipFlops: [],
      gates: [
        { name: "Z", type: "not", inputs: ["A"], output: "Z" },
        { name: "P", type: "not", inputs: ["Q"], output: "P" },
        { name: "Q", type: "not", inputs: ["P"], output: "Q" },
      ],
    });
    expect(initialisingSteps(hold)).toEqual({
      shortest: null,
      neverKnown: ["P", "Q"],
      complete: true,
      limits: null,
    });
  });

  it("finds steps that must come in order: two latches in a row behind one gate", () => {
    // The second latch takes from the first only while the first is reset: it can be reset in a step after.
    const circuit = compileCircuit({
      name: "two latches",
      inputs: ["R", "G"],
      outputs: [],
      flipFlops: [],
      gates: [
        { name: "A", type: "nor", inputs: ["R", "AN"], output: "A" },
        { name: "AN", type: "nor", inputs: ["G", "A"], output: "AN" },
        { name: "T", type: "and", inputs: ["G", "A"], output: "T" },
        { name: "B", type: "or", inputs: ["T", "B"], output: "B" },
      ],
    });
    expect(initialisingSteps(circuit).shortest).toEqual(["01"]);
    expect(initialisingSteps(circuit, { inputsMax: 1 }).shortest?.at(-1)).toBe("01");
  });

  it("says where it stopped, with what it knows until then", () => {
    const found = initialisingSteps(networkOf("nor-sr-power-up"), { settlingsMax: 1 });
    expect(found).toEqual({
      shortest: null,
      neverKnown: ["Q", "QB"],
      complete: false,
      limits: "stopped after 1 steps tried",
    });
  });
});
