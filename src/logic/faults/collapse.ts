/**
 * Faults that no test can tell apart, found from the gates alone: an input stuck at the value that forces a
 * gate is the output stuck at what it forces. Nothing merges across a branch point, an exclusive-or or a flip-flop.
 *
 * @source rules of equivalence as kept in tests/references/logic/fault-collapsing.json
 */
import { type Circuit, gateTypeOf } from "../netlist/circuit.ts";
import type { GateType } from "../netlist/netlist.ts";
import type { FaultList } from "./fault-list.ts";

export interface FaultClasses extends FaultList {
  /** Members by fault number, ascending; the first stands for the class. Classes in the order of those. */
  readonly classes: readonly Int32Array[];
  /** Of each fault, its class. */
  readonly classOf: Int32Array;
}

/**
 * The equivalence classes of a fault list.
 *
 * Holds with feedback and flip-flops as well, as each rule looks at one gate.
 */
export function collapse(list: FaultList): FaultClasses {
  const { circuit, lines, faults } = list;
  const leader = Int32Array.from(faults.keys());
  const leaderOf = (fault: number): number => {
    let at = fault;
    for (let up = leader[at] ?? at; up !== at; up = leader[at] ?? at) {
      leader[at] = leader[up] ?? up;
      at = up;
    }
    return at;
  };
  const merge = (a: number, b: number) => {
    const [low, high] = [leaderOf(a), leaderOf(b)].sort((x, y) => x - y) as [number, number];
    leader[high] = low;
  };
  for (let gate = 0; gate < circuit.gateOutput.length; gate++) {
    const output = 2 * (lines.stem[circuit.gateOutput[gate] ?? 0] ?? 0);
    for (let at = circuit.pinStart[gate] ?? 0; at < (circuit.pinStart[gate + 1] ?? 0); at++) {
      const input = 2 * (lines.atPin[at] ?? 0);
      for (const { from, to } of forcings(circuit, gate)) merge(input + from, output + to);
    }
  }
  return { ...list, ...gathered(faults.length, leaderOf) };
}

function gathered(count: number, leaderOf: (fault: number) => number) {
  const classOf = new Int32Array(count);
  const members: number[][] = [];
  for (let fault = 0; fault < count; fault++) {
    // A leader is the least of its class, so it has its place before any other member asks.
    const first = leaderOf(fault);
    if (first === fault) classOf[fault] = members.push([fault]) - 1;
    else {
      classOf[fault] = classOf[first] ?? 0;
      members[classOf[first] ?? 0]?.push(fault);
    }
  }
  return { classOf, classes: members.map((list) => Int32Array.from(list)) };
}

type Forcing = { readonly from: 0 | 1; readonly to: 0 | 1 };

/** Values of one input that alone decide the output, and what they decide. */
function forcings(circuit: Circuit, gate: number): readonly Forcing[] {
  const pins = (circuit.pinStart[gate + 1] ?? 0) - (circuit.pinStart[gate] ?? 0);
  const type = gateTypeOf(circuit, gate);
  const inverts = INVERTING.has(type) ? 1 : 0;
  if (pins === 1)
    return [0, 1].map((from) => ({ from: from as 0 | 1, to: (from ^ inverts) as 0 | 1 }));
  const from = CONTROLLING[type];
  return from === null ? [] : [{ from, to: (from ^ inverts) as 0 | 1 }];
}

/** Gates whose output is the opposite of what their inputs decide. */
export const INVERTING: ReadonlySet<GateType> = new Set(["nand", "nor", "xnor", "not"]);

/** The value of one input that alone decides the output of a gate of two inputs or more; null where none does. */
export const CONTROLLING: Readonly<Record<GateType, 0 | 1 | null>> = {
  and: 0,
  nand: 0,
  or: 1,
  nor: 1,
  xor: null,
  xnor: null,
  not: null,
  buf: null,
};
