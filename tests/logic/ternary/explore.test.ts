/** The exploration of every order against the reference steps, and the ternary procedures against it. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { explore } from "../../../src/logic/ternary/explore.ts";
import { settle } from "../../../src/logic/ternary/settle.ts";
import { allUnknown, lettersOf, UNKNOWN } from "../../../src/logic/ternary/values.ts";
import { randomNetlists } from "../lanes/random-netlists.ts";
import { referenceSteps } from "./reference-steps.ts";

const known = referenceSteps().filter(
  ({ from, inputs }) => !from.includes(3) && !inputs.includes(3),
);

describe.each(known)("$title", ({ circuit, step, from, inputs, state }) => {
  const settling = settle(circuit, from, inputs);
  const letters = (values: Uint8Array) => lettersOf(values, state);

  it("ends as the reference has it with delays in gates and wires", () => {
    const found = explore(circuit, settling, { delays: "gates and wires" });
    if (!found.explored) throw new Error(found.why);
    expect(found.ends.map(letters).sort()).toEqual(
      step.possible_stable_states_gate_and_wire_delays,
    );
    expect(letters(found.reached)).toBe(step.trace_A.at(-1));
    expect(letters(found.outcome)).toBe(step.trace_B.at(-1));
  });

  it("ends as the reference has it with delays in gates alone", () => {
    const found = explore(circuit, settling, { delays: "gates" });
    if (!found.explored) throw new Error(found.why);
    expect(found.ends.map(letters).sort()).toEqual(step.possible_stable_states_gate_delays_only);
    const outcome = state.map(
      (net) => step.outcome_lub_gate_delays_only?.[circuit.nets[net] ?? ""],
    );
    expect(letters(found.outcome)).toBe(outcome.join(""));
  });
});

describe("an exploration", () => {
  it("reaches from a stable state just what procedures A and B say, in any network", () => {
    let compared = 0;
    let unknownEnds = 0;
    const bits = fc.array(fc.integer({ min: 1, max: 2 }), { minLength: 4, maxLength: 4 });
    fc.assert(
      fc.property(
        randomNetlists({ gatesMost: 5, flipFlopsMost: 0, slow: false }),
        bits,
        bits,
        (netlist, one, other) => {
          const circuit = compileCircuit(netlist);
          const before = settle(circuit, allUnknown(circuit), one.slice(0, netlist.inputs.length));
          if (before.after.includes(UNKNOWN)) return;
          const step = settle(circuit, before.after, other.slice(0, netlist.inputs.length));
          const found = explore(circuit, step, {
            delays: "gates and wires",
            transitionsMax: 50_000,
          });
          if (!found.explored) return;
          expect(found.reached).toEqual(
            step.during.map((value, net) =>
              netlist.inputs.includes(circuit.nets[net] ?? "") ? (step.after[net] ?? 0) : value,
            ),
          );
          expect(found.outcome).toEqual(step.after);
          compared += 1;
          if (step.after.includes(UNKNOWN)) unknownEnds += 1;
        },
      ),
      { numRuns: 1000, seed: 3 },
    );
    expect(compared).toBeGreaterThan(300);
    expect(unknownEnds).toBeGreaterThan(20);
  });

  it("never leaves what the procedures allow where some gates are slow", () => {
    let compared = 0;
    const bits = fc.array(fc.integer({ min: 1, max: 2 }), { minLength: 4, maxLength: 4 });
    const covered = (wide: Uint8Array, narrow: Uint8Array) =>
      expect(narrow.map((value, net) => value | (wide[net] ?? 0))).toEqual(wide);
    fc.assert(
      fc.property(
        randomNetlists({ gatesMost: 7, flipFlopsMost: 0, slow: true }),
        bits,
        bits,
        (netlist, one, other) => {
          const circuit = compileCircuit(netlist);
          if (!circuit.slow.includes(1)) return;
          const width = netlist.inputs.length;
          const before = settle(circuit, allUnknown(circuit), one.slice(0, width)).after;
          if (before.includes(UNKNOWN)) return;
          const step = settle(circuit, before, other.slice(0, width));
          const found = explore(circuit, step, { delays: "gates", transitionsMax: 50_000 });
          if (!found.explored) return;
          covered(step.during, found.reached);
          covered(step.after, found.outcome);
          compared += 1;
        },
      ),
      { numRuns: 4000, seed: 5 },
    );
    expect(compared).toBeGreaterThan(300);
  });

  it("sees a pulse that a slow gate makes surely caught, and one of a quick gate perhaps", () => {
    const ends = (slow: boolean) => {
      const circuit = compileCircuit({
        name: "pulse into a latch",
        inputs: ["A", "RN"],
        outputs: [],
        flipFlops: [],
        gates: [
          { name: "B", type: "not", inputs: ["A"], output: "B", ...(slow && { slow }) },
          { name: "Z", type: "and", inputs: ["A", "B"], output: "Z" },
          { name: "M", type: "or", inputs: ["Z", "L"], output: "M" },
          { name: "L", type: "and", inputs: ["M", "RN"], output: "L" },
        ],
      });
      const reset = settle(circuit, allUnknown(circuit), [1, 1]).after;
      const free = settle(circuit, reset, [1, 2]).after;
      const step = settle(circuit, free, [2, 2]);
      const found = explore(circuit, step, { delays: "gates and wires" });
      if (!found.explored) throw new Error(found.why);
      expect(found.outcome).toEqual(step.after);
      return found.ends.map((values) => lettersOf(values, circuit.gateOutput)).sort();
    };
    expect([ends(false), ends(true)]).toEqual([["0000", "0011"], ["0011"]]);
  });
});
