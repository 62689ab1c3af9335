/** The reference netlists as the model takes them: benchmark files and the networks of the JSON files. */
import { readFileSync } from "node:fs";
import { type Circuit, compileCircuit } from "../../src/logic/netlist/circuit.ts";
import type { FlipFlop, Gate, GateType, Netlist } from "../../src/logic/netlist/netlist.ts";
import { GATE_TYPES } from "../../src/logic/netlist/netlist.ts";

/** A network as it stands in `fault-collapsing.json` and `ternary.json`. */
export interface ReferenceNetwork {
  readonly id: string;
  readonly inputs: readonly string[];
  readonly outputs: readonly string[];
  readonly gates: readonly {
    readonly out: string;
    readonly type: string;
    readonly in: readonly string[];
  }[];
}

export function networkCircuit({ id, inputs, outputs, gates }: ReferenceNetwork): Circuit {
  return compileCircuit({
    name: id,
    inputs,
    outputs,
    flipFlops: [],
    gates: gates.map(({ out, type, in: taken }) => ({
      name: out,
      type: gateType(type),
      inputs: taken,
      output: out,
    })),
  });
}

/** `tests/references/logic/NAME.bench`. */
export function benchmarkCircuit(name: string): Circuit {
  const file = new URL(`../references/logic/${name}.bench`, import.meta.url);
  const lines = readFileSync(file, "utf8").split("\n");
  const all = (pattern: RegExp) =>
    lines.map((line) => pattern.exec(line)).filter((m) => m !== null);
  const stages = all(/^(\w+) = (\w+)\((.*)\)$/).map(([, output = "", type = "", list = ""]) => ({
    name: output,
    type,
    inputs: list.split(", "),
    output,
  }));
  const netlist: Netlist = {
    name,
    inputs: all(/^INPUT\((\w+)\)$/).map(([, net = ""]) => net),
    outputs: all(/^OUTPUT\((\w+)\)$/).map(([, net = ""]) => net),
    flipFlops: stages
      .filter(({ type }) => type === "DFF")
      .map(({ inputs, output }): FlipFlop => ({ name: output, data: inputs[0] ?? "", output })),
    gates: stages
      .filter(({ type }) => type !== "DFF")
      .map(({ type, ...stage }): Gate => ({ ...stage, type: gateType(type) })),
  };
  return compileCircuit(netlist);
}

function gateType(word: string): GateType {
  const name = word.toLowerCase().replace(/^buff$/, "buf");
  const type = GATE_TYPES.find((known) => known === name);
  if (type === undefined) throw new Error(`no gate is called ${word}`);
  return type;
}
