/** Fault simulation against the reference pack, and against copies of a circuit with the fault built in. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { collapse } from "../../../../src/logic/faults/collapse.ts";
import { type Fault, faultName } from "../../../../src/logic/faults/fault.ts";
import { faultList } from "../../../../src/logic/faults/fault-list.ts";
import { faultDictionary } from "../../../../src/logic/faults/patterns/dictionary.ts";
import {
  firstDetection,
  PatternFaults,
} from "../../../../src/logic/faults/patterns/pattern-faults.ts";
import { patternSet } from "../../../../src/logic/faults/patterns/pattern-set.ts";
import { type Circuit, compileCircuit, pinsOf } from "../../../../src/logic/netlist/circuit.ts";
import { GATE_TYPES, type Gate, type GateType } from "../../../../src/logic/netlist/netlist.ts";
import c17 from "../../../references/logic/c17.json" with { type: "json" };
import c432 from "../../../references/logic/c432.json" with { type: "json" };
import { benchmarkCircuit } from "../../reference-netlists.ts";

const collapsed = (circuit: Circuit) => collapse(faultList(circuit));
const firstName = (circuit: Circuit, fault: Fault | undefined) =>
  fault ? faultName(circuit, fault) : "?";

describe("faultDictionary", () => {
  it("holds every answer of c17 to every pattern, as published", () => {
    const classes = collapsed(benchmarkCircuit("c17"));
    const rows = c17.truth_table.rows.map(([inputs = ""]) => inputs);
    const { good, faulty } = faultDictionary(classes, patternSet(rows));
    expect(good.join("")).toBe(c17.fault_dictionary.fault_free);
    const found = new Map(
      classes.classes.map(([first = -1], index) => [
        firstName(classes.circuit, classes.faults[first]),
        faulty[index]?.join(""),
      ]),
    );
    const expected = new Map(
      c17.fault_dictionary.per_class.map(({ representative, response }) => [
        representative,
        response,
      ]),
    );
    expect(found).toEqual(expected);
  });
});

describe("PatternFaults", () => {
  it("finds in c432 what the published vectors detect, and nothing they cannot", () => {
    const found = collapsed(benchmarkCircuit("c432"));
    const detections = new PatternFaults(found).detect(patternSet(c432.vector_set.vectors));
    const missed = found.classes.flatMap(([first = -1], index) =>
      firstDetection(detections, index) === null
        ? [firstName(found.circuit, found.faults[first])]
        : [],
    );
    expect(missed).toEqual(c432.recomputed.untestable);
  });

  it("agrees with the truth table of a copy that has the fault built in", () => {
    fc.assert(
      fc.property(randomNetwork, (circuit) => {
        const classes = collapsed(circuit);
        const inputCount = circuit.inputs.length;
        const rows = Array.from({ length: 2 ** inputCount }, (_, row) =>
          row.toString(2).padStart(inputCount, "0"),
        );
        const { words, wordsEach } = new PatternFaults(classes).detect(patternSet(rows));
        for (const [index, members] of classes.classes.entries()) {
          const detecting = rows.map(
            (_, row) => ((words[index * wordsEach + (row >> 5)] ?? 0) >>> row) & 1,
          );
          // Every member, so that the merging is held to the truth as well.
          for (const member of members) {
            const fault = classes.faults[member];
            const truth = rows.map((row) =>
              answer(circuit, row) === answer(circuit, row, fault) ? 0 : 1,
            );
            expect(detecting, firstName(circuit, fault)).toEqual(truth);
          }
        }
      }),
      { numRuns: 200 },
    );
  });

  it("takes patterns beyond one row, and none", () => {
    const simulator = new PatternFaults(collapsed(benchmarkCircuit("c17")));
    // Only pattern 900 of 1100 is not all 0.
    const rows = Array.from({ length: 1100 }, (_, row) => (row === 900 ? "11111" : "00000"));
    const many = simulator.detect(patternSet(rows));
    const two = simulator.detect(patternSet(["00000", "11111"]));
    for (const index of simulator.classes.classes.keys()) {
      const first = firstDetection(two, index);
      expect(firstDetection(many, index)).toBe(first === 1 ? 900 : first);
    }
    expect(firstDetection(simulator.detect(patternSet([])), 0)).toBeNull();
  });

  it("refuses circuits that keep state, and patterns of another circuit", () => {
    expect(() => new PatternFaults(collapsed(benchmarkCircuit("s27")))).toThrow(/s27 keeps state/);
    const simulator = new PatternFaults(collapsed(benchmarkCircuit("c17")));
    expect(() => simulator.detect(patternSet(["0000"]))).toThrow(/4 inputs for c17, which has 5/);
    expect(() => patternSet(["00", "0x"])).toThrow(/pattern 1 is 0x/);
  });
});

/** Three to six inputs and up to fourteen gates, each taking from what stands before it, some nets twice. */
const randomNetwork: fc.Arbitrary<Circuit> = fc
  .record({
    inputCount: fc.integer({ min: 3, max: 6 }),
    gates: fc.array(
      fc.record({
        type: fc.constantFrom(...GATE_TYPES),
        taken: fc.array(fc.nat(1000), { minLength: 1, maxLength: 4 }),
      }),
      { minLength: 1, maxLength: 14 },
    ),
    outputs: fc.array(fc.nat(1000), { minLength: 1, maxLength: 4 }),
  })
  .map(({ inputCount, gates, outputs }) => {
    const nets = Array.from({ length: inputCount }, (_, index) => `I${index}`);
    const netAt = (place: number) => nets[place % nets.length] ?? "";
    const inputs = [...nets];
    const built = gates.map(({ type, taken }, index): Gate => {
      const single = type === "not" || type === "buf";
      const pins = (single ? taken.slice(0, 1) : taken).map(netAt);
      const output = `G${index}`;
      nets.push(output);
      return { name: output, type, inputs: pins, output };
    });
    const seen = [...new Set(outputs.map(netAt))];
    return compileCircuit({ name: "random", inputs, outputs: seen, flipFlops: [], gates: built });
  });

/** The outputs under one pattern, gate by gate and pin by pin, with a fault or without. */
function answer(circuit: Circuit, row: string, fault?: Fault): string {
  const values: boolean[] = [];
  const stuck = (net: number, value: boolean, isHere: boolean) =>
    fault?.net === net && isHere ? fault.stuckAt === 1 : value;
  const put = (net: number, value: boolean) => {
    values[net] = stuck(net, value, fault?.site.kind === "stem");
  };
  for (const [index, net] of circuit.inputs.entries()) put(net, row[index] === "1");
  for (const gate of circuit.order) {
    const pins = [...pinsOf(circuit, gate)].map((net, pin) => {
      const site = fault?.site;
      const isHere = site?.kind === "gate pin" && site.gate === gate && site.pin === pin;
      return stuck(net, values[net] ?? false, isHere);
    });
    const type = GATE_TYPES[circuit.gateType[gate] ?? 0] ?? "buf";
    put(circuit.gateOutput[gate] ?? -1, MEANING[type](pins));
  }
  return [...circuit.outputs]
    .map((net) => (stuck(net, values[net] ?? false, fault?.site.kind === "observed") ? 1 : 0))
    .join("");
}

const odd = (pins: boolean[]) => pins.filter(Boolean).length % 2 === 1;
const MEANING: Readonly<Record<GateType, (pins: boolean[]) => boolean>> = {
  and: (pins) => pins.every(Boolean),
  nand: (pins) => !pins.every(Boolean),
  or: (pins) => pins.some(Boolean),
  nor: (pins) => !pins.some(Boolean),
  xor: odd,
  xnor: (pins) => !odd(pins),
  not: ([pin]) => !pin,
  buf: ([pin]) => pin === true,
};
