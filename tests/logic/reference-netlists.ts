/** The reference netlists as the model takes them: benchmark files and the networks of the JSON files. */
import { readFileSync } from "node:fs";
import { readBenchNetlist } from "../../src/formats/bench-netlist.ts";
import { type Circuit, compileCircuit } from "../../src/logic/netlist/circuit.ts";
import { GATE_TYPES, type GateType } from "../../src/logic/netlist/netlist.ts";

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
  const read = readBenchNetlist(readFileSync(file), `${name}.bench`);
  if (!read.ok) throw new Error(read.problems.map(({ reason }) => reason).join("; "));
  return compileCircuit(read.netlist);
}

function gateType(word: string): GateType {
  const name = word.toLowerCase().replace(/^buff$/, "buf");
  const type = GATE_TYPES.find((known) => known === name);
  if (type === undefined) throw new Error(`no gate is called ${word}`);
  return type;
}
