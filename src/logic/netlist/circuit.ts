/**
 * A netlist with names replaced by numbers, for the inner loops. Gates stand in an order in which each
 * comes after those it takes from, as far as feedback allows.
 */
import { GATE_TYPES, type GateType, type Netlist } from "./netlist.ts";
import { netlistProblems } from "./netlist-problems.ts";

export interface Circuit {
  readonly netlist: Netlist;
  /** Names of nets by number: inputs, then flip-flop outputs, then gate outputs in netlist order. */
  readonly nets: readonly string[];
  readonly netOf: ReadonlyMap<string, number>;
  readonly inputs: Int32Array;
  readonly outputs: Int32Array;
  readonly flipFlopData: Int32Array;
  readonly flipFlopOutput: Int32Array;
  /** Of each gate, in netlist order, its place in `GATE_TYPES`. */
  readonly gateType: Uint8Array;
  readonly gateOutput: Int32Array;
  /** Of each gate, 1 where it moves only after all others have settled. */
  readonly slow: Uint8Array;
  /** Pins of gate g are `pinNet[pinStart[g]]` up to, not including, `pinNet[pinStart[g + 1]]`. */
  readonly pinStart: Int32Array;
  readonly pinNet: Int32Array;
  /** Gate that drives a net, or -1. */
  readonly driver: Int32Array;
  /** Gates that take from net n are `takers[takerStart[n]]` up to `takers[takerStart[n + 1]]`, each once. */
  readonly takerStart: Int32Array;
  readonly takers: Int32Array;
  /** All gates, sources first; gates of one feedback group stand side by side. */
  readonly order: Int32Array;
  /** Gates that feed back on each other, group by group, in the order of `order`; empty without feedback. */
  readonly loops: readonly Int32Array[];
}

/**
 * Compile a netlist.
 *
 * @throws Error when `netlistProblems` finds any: a caller that reads files asks there first
 */
export function compileCircuit(netlist: Netlist): Circuit {
  const problem = netlistProblems(netlist)[0];
  if (problem) throw new Error(`netlist ${netlist.name} cannot be compiled: ${problem.reason}`);
  const nets = [
    ...netlist.inputs,
    ...netlist.flipFlops.map(({ output }) => output),
    ...netlist.gates.map(({ output }) => output),
  ];
  const netOf = new Map(nets.map((name, index) => [name, index]));
  const number = (net: string): number => {
    const found = netOf.get(net);
    if (found === undefined) throw new Error(`net ${net} is not in netlist ${netlist.name}`);
    return found;
  };
  const numbers = (names: readonly string[]) => Int32Array.from(names, number);
  const { gates, flipFlops } = netlist;
  const pinStart = new Int32Array(gates.length + 1);
  for (const [g, { inputs }] of gates.entries())
    pinStart[g + 1] = (pinStart[g] ?? 0) + inputs.length;
  const gateOutput = numbers(gates.map(({ output }) => output));
  const driver = new Int32Array(nets.length).fill(-1);
  for (const [g, net] of gateOutput.entries()) driver[net] = g;
  const pinNet = numbers(gates.flatMap(({ inputs }) => inputs));
  const wiring = { pinStart, pinNet, driver };
  const groups = feedbackGroups(wiring);
  return {
    netlist,
    nets,
    netOf,
    inputs: numbers(netlist.inputs),
    outputs: numbers(netlist.outputs),
    flipFlopData: numbers(flipFlops.map(({ data }) => data)),
    flipFlopOutput: numbers(flipFlops.map(({ output }) => output)),
    gateType: Uint8Array.from(gates, ({ type }) => GATE_TYPES.indexOf(type)),
    gateOutput,
    slow: Uint8Array.from(gates, ({ slow }) => (slow ? 1 : 0)),
    ...wiring,
    ...takersOf(wiring, nets.length),
    order: Int32Array.from(groups.flat()),
    loops: groups
      .filter((group) => feedsBack(group, wiring))
      .map((group) => Int32Array.from(group)),
  };
}

/** The function of gate g. */
export function gateTypeOf(circuit: Circuit, gate: number): GateType {
  const type = GATE_TYPES[circuit.gateType[gate] ?? -1];
  if (type === undefined) throw new Error(`there is no gate ${gate}`);
  return type;
}

/** Nets that gate g takes from, by pin. */
export function pinsOf(circuit: Circuit, gate: number): Int32Array {
  return circuit.pinNet.subarray(circuit.pinStart[gate], circuit.pinStart[gate + 1]);
}

/** Gates that take from a net, each once. */
export function takersOfNet(circuit: Circuit, net: number): Int32Array {
  return circuit.takers.subarray(circuit.takerStart[net], circuit.takerStart[net + 1]);
}

interface Wiring {
  readonly pinStart: Int32Array;
  readonly pinNet: Int32Array;
  readonly driver: Int32Array;
}

function takersOf({ pinStart, pinNet }: Wiring, netCount: number) {
  const lists: number[][] = Array.from({ length: netCount }, () => []);
  for (let gate = 0; gate + 1 < pinStart.length; gate++) {
    for (const net of new Set(pinNet.subarray(pinStart[gate], pinStart[gate + 1]))) {
      lists[net]?.push(gate);
    }
  }
  const takerStart = new Int32Array(netCount + 1);
  for (const [net, list] of lists.entries())
    takerStart[net + 1] = (takerStart[net] ?? 0) + list.length;
  return { takerStart, takers: Int32Array.from(lists.flat()) };
}

/** Gates whose outputs the pins of a gate are. */
function sourcesOf(gate: number, { pinStart, pinNet, driver }: Wiring): number[] {
  return [...pinNet.subarray(pinStart[gate], pinStart[gate + 1])]
    .map((net) => driver[net] ?? -1)
    .filter((source) => source >= 0);
}

function feedsBack(group: readonly number[], wiring: Wiring): boolean {
  const [first] = group;
  if (first === undefined) return false;
  return group.length > 1 || sourcesOf(first, wiring).includes(first);
}

/**
 * Strongly connected groups of gates, those a group takes from before it.
 *
 * @source R. E. Tarjan, Depth-first search and linear graph algorithms, SIAM J. Computing 1(2), 1972 (from
 *   memory); without recursion, so that a chain of any length fits
 */
function feedbackGroups(wiring: Wiring): number[][] {
  const count = wiring.pinStart.length - 1;
  const visitOf = new Int32Array(count).fill(-1);
  const lowest = new Int32Array(count);
  const waiting: number[] = [];
  const isWaiting = new Uint8Array(count);
  const groups: number[][] = [];
  let visits = 0;
  const enter = (gate: number) => {
    visitOf[gate] = visits;
    lowest[gate] = visits;
    visits += 1;
    waiting.push(gate);
    isWaiting[gate] = 1;
    return { gate, sources: sourcesOf(gate, wiring), next: 0 };
  };
  const lower = (gate: number, to: number) => {
    lowest[gate] = Math.min(lowest[gate] ?? to, to);
  };
  for (let root = 0; root < count; root++) {
    if (visitOf[root] !== -1) continue;
    const path = [enter(root)];
    for (let frame = path.at(-1); frame; frame = path.at(-1)) {
      const source = frame.sources[frame.next];
      frame.next += 1;
      if (source === undefined) {
        path.pop();
        const below = path.at(-1);
        if (below) lower(below.gate, lowest[frame.gate] ?? 0);
        if (lowest[frame.gate] === visitOf[frame.gate]) {
          const group = waiting.splice(waiting.lastIndexOf(frame.gate));
          for (const gate of group) isWaiting[gate] = 0;
          groups.push(group);
        }
      } else if (visitOf[source] === -1) {
        path.push(enter(source));
      } else if (isWaiting[source] === 1) {
        lower(frame.gate, visitOf[source] ?? 0);
      }
    }
  }
  return groups;
}
