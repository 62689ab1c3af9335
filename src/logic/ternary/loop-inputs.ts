/** What a feedback loop takes from outside, and how it settles if a pulse from there is left out. */
import { type Circuit, pinsOf } from "../netlist/circuit.ts";
import { gateValue } from "./gate.ts";
import type { Settling } from "./settle.ts";
import { isMoving, UNKNOWN } from "./values.ts";

/** Nets outside a group of gates that its gates take from, each once. */
export function loopInputs(circuit: Circuit, group: Int32Array): number[] {
  const inside = new Set(Array.from(group, (gate) => circuit.gateOutput[gate] as number));
  const pins = [...group].flatMap((gate) => [...pinsOf(circuit, gate)]);
  return [...new Set(pins)].filter((net) => !inside.has(net));
}

/** Nets that end where they were, known, and may move on the way. */
export function mayPulse({ from, during, after }: Settling, net: number): boolean {
  return isMoving(during, net) && from[net] === after[net] && after[net] !== UNKNOWN;
}

/**
 * Whether a loop would settle to known values if what it takes from outside and only pulses stayed still:
 * then it is the pulse that it may catch.
 */
export function settlesWithoutPulses(
  circuit: Circuit,
  settling: Settling,
  group: Int32Array,
): boolean {
  const { from, during, after } = settling;
  const outside = loopInputs(circuit, group);
  const state = Uint8Array.from(from);
  const run = (joined: boolean) => {
    for (let again = true; again; ) {
      again = false;
      for (const gate of group) {
        const net = circuit.gateOutput[gate] as number;
        const old = state[net] as number;
        const next = gateValue(circuit, gate, state) | (joined ? old : 0);
        if (next === old) continue;
        state[net] = next;
        again = true;
      }
    }
  };
  for (const net of outside)
    state[net] = mayPulse(settling, net) ? (after[net] as number) : (during[net] as number);
  run(true);
  for (const net of outside) state[net] = after[net] as number;
  run(false);
  return group.every((gate) => state[circuit.gateOutput[gate] as number] !== UNKNOWN);
}
