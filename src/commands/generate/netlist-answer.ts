/** Vectors for a netlist, with what its outputs must read under each. */
import { factsOf, faultsToFind } from "../../logic/generate/board/board-test.ts";
import { circuitTest } from "../../logic/generate/circuit-test.ts";
import { WalkMachine } from "../../logic/generate/walk-machine.ts";
import { compileCircuit } from "../../logic/netlist/circuit.ts";
import type { Netlist } from "../../logic/netlist/netlist.ts";
import { unclockedLoops } from "../../logic/ternary/feedback.ts";
import type { GenerateAnswer, GenerateAsk } from "../generate.ts";
import { factLines } from "./fact-lines.ts";

const LETTERS = ["?", "0", "1", "X"];

export function netlistAnswer(netlist: Netlist, { seed, stepsMost }: GenerateAsk): GenerateAnswer {
  const circuit = compileCircuit(netlist);
  const observed = [...new Set(circuit.outputs)];
  const subject = { circuit, lineCount: circuit.inputs.length, observed };
  const task = { ...subject, faults: faultsToFind(circuit), seed, stepsMost };
  const test = circuitTest(task);
  const facts = factsOf(task, test);
  const machine = new WalkMachine(subject, []);
  const vectors = test.vectors.map((vector) => {
    let outputs = "";
    machine.take(vector, () => {
      outputs = observed.map((net) => LETTERS[machine.lanes.value(net)]).join("");
    });
    return { inputs: [...vector].map((value) => LETTERS[value]).join(""), outputs };
  });
  const names = (nets: ArrayLike<number>) =>
    Array.from(nets, (net) => circuit.nets[net] ?? "").join(" ");
  const remarks = [
    ...factLines(facts, "vectors"),
    ...unclockedLoops(circuit).map(
      (loop) =>
        `${loop.join(", ")} feed back on each other without a flip-flop: no clock holds them; put one in, or expect X.`,
    ),
  ];
  return {
    text: [
      `# ${netlist.name}: ${vectors.length} vectors, seed ${seed}; inputs, then outputs as they must read, X not known.`,
      ...(machine.isClocked
        ? ["# One vector a clock, read before the edge, from an unknown state."]
        : []),
      `# inputs ${names(circuit.inputs)}`,
      `# outputs ${names(observed)}`,
      ...vectors.map(({ inputs, outputs }) => `${inputs} ${outputs}`),
      "",
    ].join("\n"),
    json: { netlist: netlist.name, seed, ...facts, vectors },
    remarks,
    complete: facts.notFound.length === 0,
  };
}
