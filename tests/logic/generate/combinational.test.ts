import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { collapse } from "../../../src/logic/faults/collapse.ts";
import { type Fault, faultName } from "../../../src/logic/faults/fault.ts";
import { faultList } from "../../../src/logic/faults/fault-list.ts";
import { combinationalTest } from "../../../src/logic/generate/combinational.ts";
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { GATE_TYPES, type Netlist } from "../../../src/logic/netlist/netlist.ts";
import { everyFault } from "../lanes/random-netlists.ts";
import { SlowTernary } from "../lanes/slow-ternary.ts";
import { benchmarkCircuit } from "../reference-netlists.ts";

interface Reference {
  readonly recomputed: { readonly untestable: readonly string[] };
  readonly vector_set: { readonly vectors: readonly string[] };
  readonly derived?: { readonly minimum_complete_test_set_size: number };
}

function testOf(name: string) {
  const circuit = benchmarkCircuit(name);
  const { classes, faults: all } = collapse(faultList(circuit));
  const faults = classes.map((members) => all[members[0] ?? -1] as Fault);
  const reference = JSON.parse(
    readFileSync(`tests/references/logic/${name}.json`, "utf8"),
  ) as Reference;
  const task = { circuit, faults, observed: [...circuit.outputs], seed: 1 };
  return { circuit, faults, reference, task, test: combinationalTest(task) };
}

/** Netlists without feedback: a gate takes from inputs and gates before it. */
const acyclic = fc
  .array(
    fc.record({
      type: fc.constantFrom(...GATE_TYPES),
      pins: fc.array(fc.nat(), { minLength: 1, maxLength: 3 }),
    }),
    { minLength: 1, maxLength: 8 },
  )
  .map((gates): Netlist => {
    const inputs = ["I0", "I1", "I2"];
    return {
      name: "random",
      inputs,
      outputs: [`N${gates.length - 1}`],
      flipFlops: [],
      gates: gates.map(({ type, pins }, index) => ({
        name: `N${index}`,
        type,
        inputs: (type === "not" || type === "buf" ? pins.slice(0, 1) : pins).map((number) => {
          const at = number % (inputs.length + index);
          return inputs[at] ?? `N${at - inputs.length}`;
        }),
        output: `N${index}`,
      })),
    };
  });

/** Whether a fault shows under any of the eight vectors, the plain way. */
function everShows({ netlist }: Circuit, fault: Fault): boolean {
  return Array.from({ length: 8 }, (_, bits) => bits).some((bits) => shows(netlist, fault, bits));
}

function shows(netlist: Netlist, fault: Fault, bits: number): boolean {
  const inputs = new Map(
    netlist.inputs.map((net, at) => [net, (bits >> at) & 1 ? ("1" as const) : ("0" as const)]),
  );
  const [good, bad] = [[], [fault]].map((faults) => {
    const copy = new SlowTernary(netlist, faults, new Map());
    copy.step(inputs);
    return netlist.outputs.map((net) => copy.reading(net)).join("");
  });
  return good !== bad;
}

describe("combinationalTest", () => {
  // Counts and names: tests/references/logic, recomputed there with two solvers of others.
  it.each(["c432", "c880"])("finds every testable fault of %s and names the others", (name) => {
    const { circuit, faults, reference, test } = testOf(name);
    const named = test.untestable.map((fault) => faultName(circuit, faults[fault] as Fault));
    expect(named).toEqual(reference.recomputed.untestable);
    expect(test.undecided).toEqual([]);
    const missed = [...test.foundBy].filter((vector) => vector === -1).length;
    expect(missed).toBe(test.untestable.length);
    expect(test.vectors.length).toBeLessThan(reference.vector_set.vectors.length);
  });

  it("needs for c17 as few vectors as any complete set has", () => {
    const { reference, test } = testOf("c17");
    expect(test.vectors).toHaveLength(reference.derived?.minimum_complete_test_set_size ?? 0);
    expect([...test.foundBy]).not.toContain(-1);
  });

  it("gives the same vectors for the same seed", () => {
    const { task, test } = testOf("c17");
    expect(combinationalTest(task)).toEqual(test);
  });

  it("calls a fault untestable exactly where trying every vector shows none, and else finds it", () => {
    const counted = { untestable: 0, found: 0 };
    fc.assert(
      fc.property(acyclic, (netlist) => {
        const circuit = compileCircuit(netlist);
        const faults = everyFault(circuit).filter(
          ({ site, net }) => site.kind !== "observed" || circuit.outputs.includes(net),
        );
        const observed = [...circuit.outputs];
        const test = combinationalTest({ circuit, faults, observed, seed: 3 });
        expect(test.undecided).toEqual([]);
        for (const [index, fault] of faults.entries()) {
          const vector = test.vectors[test.foundBy[index] ?? -1];
          const untestable = test.untestable.includes(index);
          expect(vector === undefined, faultName(circuit, fault)).toBe(untestable);
          counted[untestable ? "untestable" : "found"] += 1;
          if (vector === undefined) expect(everShows(circuit, fault)).toBe(false);
          else {
            const bits = vector.reduce((sum, value, at) => sum | ((value - 1) << at), 0);
            expect(shows(netlist, fault, bits)).toBe(true);
          }
        }
      }),
      { numRuns: 60, seed: 17 },
    );
    expect(Math.min(counted.found, counted.untestable)).toBeGreaterThan(100);
  });

  it("refuses a circuit that keeps a state", () => {
    const circuit = benchmarkCircuit("s27");
    expect(() => combinationalTest({ circuit, faults: [], observed: [], seed: 1 })).toThrow(
      /s27 keeps a state/,
    );
  });
});
