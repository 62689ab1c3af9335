/**
 * How a network of gates settles after some of its sources have moved, whatever the delays of its gates and
 * wires: Eichelberger's two procedures. A says which nets may move on the way, B where they end.
 *
 * All gates step at once, from the values of the step before. In A a value only ever goes from known to
 * unknown and in B only back, so a net moves once in each and a settling costs a few evaluations for each
 * pin, loops or not.
 *
 * @source E. B. Eichelberger, Hazard detection in combinational and sequential switching circuits, IBM J.
 *   Research and Development 9(2), 1965; J. A. Brzozowski and C.-J. H. Seger, Asynchronous Circuits, Springer
 *   1995 (both from memory); steps as listed in tests/references/logic/ternary.json
 */
import type { Circuit } from "../netlist/circuit.ts";
import { gateValue } from "./gate.ts";
import type { NetValues } from "./values.ts";

/** How a step went. Values are by net number. */
export interface Settling {
  readonly from: NetValues;
  /** Result of procedure A: unknown where a net may move on the way, or was unknown. */
  readonly during: NetValues;
  /** Result of procedure B: where nets end; unknown where delays or unknown values decide. */
  readonly after: NetValues;
}

/** All nets after each step of a procedure, the start first; with slow gates both procedures come twice. */
export interface SettlingTrace extends Settling {
  readonly stepsOfA: readonly NetValues[];
  readonly stepsOfB: readonly NetValues[];
}

/**
 * Let the network settle after its inputs have taken these values, all at once as far as anybody can tell.
 *
 * The result holds for any delays of gates and wires. From a state that is stable under the old inputs it
 * is exact: a net ends unknown only if some delays lead it elsewhere than others, or nowhere.
 *
 * @param from values of all nets; may be unknown, and need not be stable
 * @param inputs in the order of the circuit's inputs
 */
export function settle(circuit: Circuit, from: NetValues, inputs: ArrayLike<number>): Settling {
  return settleSources({ circuit, from, sources: circuit.inputs, values: inputs }, null);
}

/** The same with every step. */
export function traceSettling(
  circuit: Circuit,
  from: NetValues,
  inputs: ArrayLike<number>,
): SettlingTrace {
  const steps = { ofA: [], ofB: [] };
  const move = { circuit, from, sources: circuit.inputs, values: inputs };
  return { ...settleSources(move, steps), stepsOfA: steps.ofA, stepsOfB: steps.ofB };
}

/**
 * One edge of the clock: every flip-flop takes its data, all at once, and the network settles.
 *
 * @param from values of all nets, settled: data that still moves is no data
 */
export function clock(circuit: Circuit, from: NetValues): Settling {
  const values = circuit.flipFlopData.map((net) => from[net] as number);
  return settleSources({ circuit, from, sources: circuit.flipFlopOutput, values }, null);
}

interface Move {
  readonly circuit: Circuit;
  readonly from: NetValues;
  /** Nets without a gate that take new values. */
  readonly sources: Int32Array;
  readonly values: ArrayLike<number>;
}

interface Steps {
  readonly ofA: NetValues[];
  readonly ofB: NetValues[];
}

function settleSources(move: Move, steps: Steps | null): Settling {
  const { circuit, from, sources, values } = move;
  if (values.length !== sources.length)
    throw new Error(
      `${circuit.netlist.name}: ${values.length} values for ${sources.length} sources`,
    );
  const state = Uint8Array.from(from);
  const set = (joined: boolean) => {
    for (let index = 0; index < sources.length; index++) {
      const net = sources[index] as number;
      state[net] = (values[index] as number) | (joined ? (state[net] as number) : 0);
    }
  };
  const hasSlow = circuit.slow.includes(1) && circuit.loops.length > 0;
  set(true);
  stepAll({ circuit, state, joined: true, slowHeld: hasSlow, steps: steps?.ofA ?? null });
  const during = Uint8Array.from(state);
  set(false);
  stepAll({ circuit, state, joined: false, slowHeld: hasSlow, steps: steps?.ofB ?? null });
  if (hasSlow) {
    stepAll({ circuit, state, joined: true, slowHeld: false, steps: steps?.ofA ?? null });
    for (let net = 0; net < state.length; net++)
      during[net] = (during[net] as number) | (state[net] as number);
    stepAll({ circuit, state, joined: false, slowHeld: false, steps: steps?.ofB ?? null });
  }
  return { from, during, after: state };
}

/** Step until nothing changes: procedure A while `joined`, B otherwise. Changes `state`. */
function stepAll(sweep: {
  readonly circuit: Circuit;
  readonly state: NetValues;
  readonly joined: boolean;
  readonly slowHeld: boolean;
  readonly steps: NetValues[] | null;
}): void {
  const { circuit, state, joined, slowHeld, steps } = sweep;
  const { gateOutput, takers, takerStart, slow } = circuit;
  const isDue = new Uint8Array(gateOutput.length);
  let due: number[] = [];
  for (let gate = 0; gate < gateOutput.length; gate++) due.push(gate);
  steps?.push(Uint8Array.from(state));
  while (due.length > 0) {
    const changedNets: number[] = [];
    const changedTo: number[] = [];
    for (const gate of due) {
      isDue[gate] = 0;
      if (slowHeld && slow[gate] === 1) continue;
      const net = gateOutput[gate] as number;
      const old = state[net] as number;
      const next = gateValue(circuit, gate, state) | (joined ? old : 0);
      if (next === old) continue;
      changedNets.push(net);
      changedTo.push(next);
    }
    due = [];
    for (let index = 0; index < changedNets.length; index++) {
      const net = changedNets[index] as number;
      state[net] = changedTo[index] as number;
      const end = takerStart[net + 1] as number;
      for (let at = takerStart[net] as number; at < end; at++) {
        const gate = takers[at] as number;
        if (isDue[gate] === 1) continue;
        isDue[gate] = 1;
        due.push(gate);
      }
    }
    if (changedNets.length > 0) steps?.push(Uint8Array.from(state));
  }
}
