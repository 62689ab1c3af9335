/** Fault lists and their classes against the published counts and the classes of the reference pack. */
import { describe, expect, it } from "vitest";
import { collapse, type FaultClasses } from "../../../src/logic/faults/collapse.ts";
import { withoutDominating } from "../../../src/logic/faults/dominance.ts";
import { faultName } from "../../../src/logic/faults/fault.ts";
import { faultList } from "../../../src/logic/faults/fault-list.ts";
import { checkpointLines } from "../../../src/logic/faults/lines.ts";
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { GATE_TYPES, type GateType } from "../../../src/logic/netlist/netlist.ts";
import c17 from "../../references/logic/c17.json" with { type: "json" };
import c432 from "../../references/logic/c432.json" with { type: "json" };
import c880 from "../../references/logic/c880.json" with { type: "json" };
import collapsing from "../../references/logic/fault-collapsing.json" with { type: "json" };
import s27 from "../../references/logic/s27.json" with { type: "json" };
import { benchmarkCircuit, networkCircuit } from "../reference-netlists.ts";

const collapsed = (circuit: Circuit) => collapse(faultList(circuit));

function namedClasses({ circuit, faults, classes }: FaultClasses): string[][] {
  return classes.map((members) =>
    [...members].map((index) => {
      const fault = faults[index];
      return fault ? faultName(circuit, fault) : "?";
    }),
  );
}

const asSets = (classes: readonly (readonly string[])[]) =>
  classes.map((names) => [...names].sort().join(" ")).sort();

describe.each([c17, s27, c432, c880])("faults of $circuit", (reference) => {
  const circuit = benchmarkCircuit(reference.circuit);
  const { recomputed, published } = reference;

  it("are the published number of classes, of the recomputed number of lines", () => {
    const found = collapsed(circuit);
    expect(found.lines.lines).toHaveLength(recomputed.lines);
    expect(found.faults).toHaveLength(recomputed.uncollapsed_faults);
    expect(found.classes).toHaveLength(published.collapsed_faults);
    expect(checkpointLines(circuit, found.lines)).toHaveLength(recomputed.checkpoint_lines);
  });

  it("fall into the classes of the reference, name by name and in its order", () => {
    const names = namedClasses(collapsed(circuit));
    expect(asSets(names)).toEqual(asSets(reference.classes));
    expect(names.map(([first]) => first)).toEqual(reference.classes.map(([first]) => first));
  });
});

describe.each(collapsing.networks)("faults of $id", (reference) => {
  it("fall into the classes of the reference", () => {
    const found = collapsed(networkCircuit(reference));
    expect(found.lines.lines).toHaveLength(reference.lines);
    expect(found.faults).toHaveLength(reference.uncollapsed);
    expect(asSets(namedClasses(found))).toEqual(asSets(reference.classes));
  });
});

function oneGate(type: GateType, pins: number): Circuit {
  const inputs = Array.from({ length: pins }, (_, index) => `I${index}`);
  return compileCircuit({
    name: type,
    inputs,
    outputs: ["Z"],
    flipFlops: [],
    gates: [{ name: "Z", type, inputs, output: "Z" }],
  });
}

describe("one gate alone", () => {
  it.each(collapsing.gates)(
    "$gate of $inputs has $equivalence_classes classes, $after_dominance targets",
    (row) => {
      const name = row.gate.toLowerCase().replace("buff", "buf");
      const type = GATE_TYPES.find((known) => known === name) ?? "xnor";
      const found = collapsed(oneGate(type, row.inputs));
      expect(found.faults).toHaveLength(row.uncollapsed);
      expect(found.classes).toHaveLength(row.equivalence_classes);
      expect(withoutDominating(found)).toHaveLength(row.after_dominance ?? row.equivalence_classes);
    },
  );

  it("merges an and gate of one input as the buffer that it is", () => {
    expect(namedClasses(collapsed(oneGate("and", 1)))).toEqual([
      ["I0/0", "Z/0"],
      ["I0/1", "Z/1"],
    ]);
  });
});

describe("collapse", () => {
  it("merges three inverters in an unobserved ring into one class", () => {
    // The closed form of the reference pack fails there: 6 faults, all equivalent.
    const ring = networkCircuit({
      id: "ring",
      inputs: [],
      outputs: [],
      gates: ["A", "B", "C"].map((out, index) => ({
        out,
        type: "NOT",
        in: [["C", "A", "B"][index] ?? ""],
      })),
    });
    expect(collapsed(ring).classes).toHaveLength(1);
  });

  it("keeps each class under the class of every member", () => {
    const found = collapsed(benchmarkCircuit("c880"));
    const wrong = [...found.classOf.keys()].filter(
      (fault) => !found.classes[found.classOf[fault] ?? -1]?.includes(fault),
    );
    expect(wrong).toEqual([]);
  });
});

describe("withoutDominating", () => {
  it("leaves the published 16 of c17", () => {
    // R. C. Paruchuri, Dominance Fault Collapsing, Auburn University, 2004, as named in the reference.
    expect(withoutDominating(collapsed(benchmarkCircuit("c17")))).toHaveLength(
      c17.derived.structural_dominance_collapsed,
    );
  });

  it("leaves targets of c17 whose tests detect all else, by the published dictionary", () => {
    const found = collapsed(benchmarkCircuit("c17"));
    const rows = new Map(
      c17.fault_dictionary.per_class.map((entry) => [entry.representative, entry.detecting_rows]),
    );
    const rowsOf = (index: number) => rows.get(namedClasses(found)[index]?.[0] ?? "") ?? [];
    const targets = withoutDominating(found);
    for (const index of found.classes.keys()) {
      const covered = targets.some((target) =>
        rowsOf(target).every((row) => rowsOf(index).includes(row)),
      );
      expect(covered).toBe(true);
    }
  });

  it("refuses a latch, whose state its argument does not know", () => {
    const latch = collapsing.networks.find(({ id }) => id === "nor-sr-latch");
    if (latch === undefined) throw new Error("the reference has no latch");
    expect(() => withoutDominating(collapsed(networkCircuit(latch)))).toThrow(/keeps state/);
    expect(() => withoutDominating(collapsed(benchmarkCircuit("s27")))).toThrow(/s27/);
  });
});
