/**
 * One step as a race between the things that can be late: each moving gate, and if asked each moving wire, is
 * a variable of two values with a delay of its own. A state is a word with one bit a variable.
 */
import { type Circuit, gateTypeOf, pinsOf } from "../netlist/circuit.ts";
import type { GateType } from "../netlist/netlist.ts";
import type { Settling } from "./settle.ts";
import { HIGH, isMoving } from "./values.ts";

/** What has a delay: outputs of gates alone, or also each wire into a gate. */
export type Delays = "gates" | "gates and wires";

export interface RaceModel {
  /** Net of each gate variable, which are the first; wires follow. */
  readonly gateNets: readonly number[];
  readonly variableCount: number;
  readonly start: number;
  /** Bits of slow gates, held where they were until the rest is where it ends. */
  readonly slow: number;
  /** Bits of the variables that want to move in a state. */
  readonly excited: (state: number) => number;
}

/** A pin as the inner loop sees it: bit of a variable, or a value that stays. */
interface Pin {
  readonly mask: number;
  readonly level: boolean;
}
interface Variable {
  readonly type: GateType;
  readonly pins: readonly Pin[];
  readonly slow: boolean;
}

/** Variables that would be needed, to ask before a model is made. */
export function raceVariables(circuit: Circuit, settling: Settling, delays: Delays): number {
  const gates = movingGates(circuit, settling);
  return gates.length + (delays === "gates" ? 0 : movingWires(circuit, settling, gates).length);
}

/**
 * The model of a step whose moving nets were all known before and whose sources are known after.
 *
 * @param settling only nets that move in it become variables, all others are constants
 * @throws Error beyond 30 variables, the bits of a word
 */
export function raceModel(circuit: Circuit, settling: Settling, delays: Delays): RaceModel {
  const gates = movingGates(circuit, settling);
  const wires = delays === "gates" ? [] : movingWires(circuit, settling, gates);
  const variableCount = gates.length + wires.length;
  if (variableCount > 30) throw new Error(`${variableCount} variables do not fit a word of 30`);
  const variableOfNet = new Map(
    gates.map((gate, index) => [circuit.gateOutput[gate] as number, index]),
  );
  const variableOfWire = new Map(wires.map(({ at }, index) => [at, gates.length + index]));
  const seen = (net: number, variable: number | undefined): Pin => ({
    mask: variable === undefined ? 0 : 1 << variable,
    level: settling.after[net] === HIGH,
  });
  const variables: Variable[] = [
    ...gates.map((gate) => ({
      type: gateTypeOf(circuit, gate),
      slow: circuit.slow[gate] === 1,
      pins: [...pinsOf(circuit, gate)].map((net, pin) =>
        seen(
          net,
          variableOfWire.get((circuit.pinStart[gate] as number) + pin) ?? variableOfNet.get(net),
        ),
      ),
    })),
    ...wires.map(({ net }) => ({
      type: "buf" as const,
      slow: false,
      pins: [seen(net, variableOfNet.get(net))],
    })),
  ];
  const nets = [
    ...gates.map((gate) => circuit.gateOutput[gate] as number),
    ...wires.map((w) => w.net),
  ];
  let start = 0;
  for (const [index, net] of nets.entries()) if (settling.from[net] === HIGH) start |= 1 << index;
  let slowMask = 0;
  for (const [index, { slow }] of variables.entries()) if (slow) slowMask |= 1 << index;
  return {
    gateNets: nets.slice(0, gates.length),
    variableCount,
    start,
    slow: slowMask,
    excited(state) {
      let bits = 0;
      for (let index = 0; index < variables.length; index++) {
        const variable = variables[index] as Variable;
        if (levelOf(variable, state) !== ((state & (1 << index)) !== 0)) bits |= 1 << index;
      }
      return bits;
    },
  };
}

function movingGates(circuit: Circuit, { during }: Settling): number[] {
  return [...circuit.order].filter((gate) => isMoving(during, circuit.gateOutput[gate] as number));
}

/** Wires from a moving net into a moving gate; what a gate that stays takes does not matter. */
function movingWires(circuit: Circuit, { during }: Settling, gates: readonly number[]) {
  return gates.flatMap((gate) =>
    [...pinsOf(circuit, gate)].flatMap((net, pin) =>
      isMoving(during, net) ? [{ net, at: (circuit.pinStart[gate] as number) + pin }] : [],
    ),
  );
}

function levelOf({ type, pins }: Variable, state: number): boolean {
  let high = 0;
  for (const { mask, level } of pins) if (mask === 0 ? level : (state & mask) !== 0) high += 1;
  switch (type) {
    case "and":
    case "buf":
      return high === pins.length;
    case "nand":
    case "not":
      return high !== pins.length;
    case "or":
      return high > 0;
    case "nor":
      return high === 0;
    case "xor":
      return high % 2 === 1;
    case "xnor":
      return high % 2 === 0;
  }
}
