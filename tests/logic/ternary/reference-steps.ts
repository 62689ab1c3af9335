/** The networks of tests/references/logic/ternary.json as circuits, and their 42 steps. */
import { readFileSync } from "node:fs";
import type { Circuit } from "../../../src/logic/netlist/circuit.ts";
import { type NetValues, ternaryOf } from "../../../src/logic/ternary/values.ts";
import { networkCircuit } from "../reference-netlists.ts";

type Letters = Readonly<Record<string, string>>;

interface ReferenceStep {
  readonly change: string;
  readonly inputs_from: Letters;
  readonly inputs_to: Letters;
  readonly start: Letters;
  readonly algorithm_A: Letters;
  readonly algorithm_B: Letters;
  readonly trace_A: readonly string[];
  readonly trace_B: readonly string[];
  readonly checked: readonly string[];
  readonly possible_stable_states_gate_and_wire_delays?: readonly string[];
  readonly possible_stable_states_gate_delays_only?: readonly string[];
  readonly outcome_lub_gate_delays_only?: Letters;
}

interface Example {
  readonly id: string;
  readonly inputs: readonly string[];
  readonly gates: readonly { out: string; type: string; in: readonly string[] }[];
  readonly state_order: readonly string[];
  readonly steps: readonly ReferenceStep[];
}

export interface StepCase {
  /** Network and change, for a person. */
  readonly title: string;
  readonly circuit: Circuit;
  readonly step: ReferenceStep;
  /** All nets before the step. */
  readonly from: NetValues;
  readonly inputs: Uint8Array;
  /** Numbers of the state's nets, in the order of the traces. */
  readonly state: readonly number[];
}

export function referenceSteps(): StepCase[] {
  const file = new URL("../../references/logic/ternary.json", import.meta.url);
  const { examples } = JSON.parse(readFileSync(file, "utf8")) as { examples: Example[] };
  return examples.flatMap((example) => {
    const { id, inputs, gates, steps } = example;
    const circuit = networkCircuit({ id, inputs, gates, outputs: [] });
    const numberOf = (net: string) => circuit.netOf.get(net) ?? -1;
    return steps.map((step) => ({
      title: `${id}: ${step.change}`,
      circuit,
      step,
      from: Uint8Array.from(circuit.nets, (net) =>
        ternaryOf(step.start[net] ?? step.inputs_from[net] ?? "?"),
      ),
      inputs: Uint8Array.from(inputs, (net) => ternaryOf(step.inputs_to[net] ?? "?")),
      state: example.state_order.map(numberOf),
    }));
  });
}
