/**
 * Ternary simulation against the reference pack: every step of its networks, and the answers of the published
 * netlists without a fault.
 */
import { readFileSync } from "node:fs";
import { readBenchNetlist } from "../../../src/formats/bench-netlist.ts";
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { explore } from "../../../src/logic/ternary/explore.ts";
import { clock, settle, traceSettling } from "../../../src/logic/ternary/settle.ts";
import {
  allUnknown,
  inputsOf,
  lettersOf,
  ternaryOf,
  UNKNOWN,
} from "../../../src/logic/ternary/values.ts";
import { referenceSteps, type StepCase } from "../../logic/ternary/reference-steps.ts";
import c432 from "../../references/logic/c432.json" with { type: "json" };
import c880 from "../../references/logic/c880.json" with { type: "json" };
import s27 from "../../references/logic/s27.json" with { type: "json" };
import type { FigureContext } from "../figure.ts";

export function ternaryFigures({ report, say }: FigureContext): void {
  const agree = (name: string, unit: string, pairs: readonly (readonly [string, string])[]) => {
    const equal = pairs.filter(([ours, reference]) => ours === reference).length;
    for (const [ours, reference] of pairs.filter((pair) => pair[0] !== pair[1]).slice(0, 5))
      say(`${name}: ours ${ours}, reference ${reference}`);
    report({
      name: `benchmarks ${name}`,
      value: (100 * equal) / pairs.length,
      unit: `% of ${pairs.length} ${unit}`,
      limit: "= 100",
      holds: pairs.length > 0 && equal === pairs.length,
    });
  };
  const steps = referenceSteps();
  agree("ternary steps", "steps, every state of procedures A and B", steps.map(traces));
  const known = steps.filter(({ from }) => !from.includes(UNKNOWN));
  agree(
    "ternary ends",
    "explorations, states a step can end in with delays in gates, and in wires too",
    known.flatMap((step) => [
      ends(step, "gates", step.step.possible_stable_states_gate_delays_only),
      ends(step, "gates and wires", step.step.possible_stable_states_gate_and_wire_delays),
    ]),
  );
  for (const [name, run] of Object.entries(s27.sequence.runs))
    agree(`s27 clocked, ${name}`, "cycles, output and state after it", clocked(run));
  for (const reference of [c432, c880])
    agree(`${reference.circuit} settled`, "vectors one after the other", settled(reference));
}

function traces({ circuit, from, inputs, state, step }: StepCase): [string, string] {
  const { stepsOfA, stepsOfB } = traceSettling(circuit, from, inputs);
  const letters = [stepsOfA, stepsOfB].map((all) => all.map((one) => lettersOf(one, state)));
  return [letters.join(";"), [step.trace_A, step.trace_B].join(";")];
}

function ends(
  { circuit, from, inputs, state }: StepCase,
  delays: "gates" | "gates and wires",
  reference: readonly string[] = [],
): [string, string] {
  const found = explore(circuit, settle(circuit, from, inputs), { delays });
  const ours = found.explored ? found.ends.map((values) => lettersOf(values, state)).sort() : ["?"];
  return [ours.join(), [...reference].sort().join()];
}

function clocked(run: {
  readonly initial_state: string;
  readonly good_outputs: readonly string[];
  readonly states_before_each_clock_then_final: readonly string[];
}): [string, string][] {
  const circuit = benchmark("s27");
  let values = allUnknown(circuit);
  for (const [index, net] of circuit.flipFlopOutput.entries())
    values[net] = ternaryOf(run.initial_state[index] ?? "X");
  return s27.sequence.vectors.map((vector, cycle) => {
    values = settle(circuit, values, inputsOf(circuit, vector)).after;
    const shown = lettersOf(values, circuit.outputs);
    values = clock(circuit, values).after;
    const state = lettersOf(values, circuit.flipFlopOutput);
    const next = run.states_before_each_clock_then_final[cycle + 1];
    return [`${shown} ${state}`, `${run.good_outputs[cycle]} ${next}`];
  });
}

function settled({ circuit: name, vector_set }: typeof c432 | typeof c880): [string, string][] {
  const circuit = benchmark(name);
  let values = allUnknown(circuit);
  return vector_set.vectors.map((vector, index) => {
    values = settle(circuit, values, inputsOf(circuit, vector)).after;
    return [lettersOf(values, circuit.outputs), vector_set.good_outputs[index] ?? ""];
  });
}

function benchmark(name: string): Circuit {
  const file = new URL(`../../references/logic/${name}.bench`, import.meta.url);
  const result = readBenchNetlist(readFileSync(file), `${name}.bench`);
  if (!result.ok) throw new Error(`${name}.bench cannot be read`);
  return compileCircuit(result.netlist);
}
