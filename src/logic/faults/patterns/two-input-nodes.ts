/**
 * Gates as chains of operations on two words: what a gate of many inputs makes of them one by one. The
 * results in between are nets of their own, each with one load.
 */
import { type Circuit, gateTypeOf } from "../../netlist/circuit.ts";
import type { GateType } from "../../netlist/netlist.ts";
import { OPERATIONS, type Operation } from "./bit-program.ts";

export interface TwoInputNode {
  readonly operation: Operation;
  readonly first: number;
  /** Equal to `first` where the operation takes one word. */
  readonly second: number;
  readonly output: number;
}

export interface NodeGraph {
  /** Nets of the circuit by their numbers, then those in between. */
  readonly netCount: number;
  /** Sources first. */
  readonly nodes: readonly TwoInputNode[];
  /** Of each pin of the circuit, the node that takes it. */
  readonly nodeOfPin: Int32Array;
}

/** The gates of a circuit without feedback as two-input nodes. */
export function nodeGraph(circuit: Circuit): NodeGraph {
  const nodes: TwoInputNode[] = [];
  const nodeOfPin = new Int32Array(circuit.pinNet.length);
  let netCount = circuit.nets.length;
  for (const gate of circuit.order) {
    const from = circuit.pinStart[gate] ?? 0;
    const to = circuit.pinStart[gate + 1] ?? from;
    const { inner, outer, single } = PLANS[gateTypeOf(circuit, gate)];
    let before = circuit.pinNet[from] ?? 0;
    nodeOfPin[from] = nodes.length;
    for (let at = Math.min(from + 1, to - 1); at < to; at++) {
      const last = at === to - 1;
      const output = last ? (circuit.gateOutput[gate] ?? 0) : netCount++;
      const second = circuit.pinNet[at] ?? 0;
      nodeOfPin[at] = nodes.length;
      const operation = to - from === 1 ? single : last ? outer : inner;
      nodes.push({ operation, first: before, second, output });
      before = output;
    }
  }
  return { netCount, nodes, nodeOfPin };
}

interface Plan {
  readonly inner: Operation;
  readonly outer: Operation;
  /** Of a gate with one input. */
  readonly single: Operation;
}

const { and, nand, or, nor, xor, xnor, copy, not } = OPERATIONS;

const PLANS: Readonly<Record<GateType, Plan>> = {
  and: { inner: and, outer: and, single: copy },
  nand: { inner: and, outer: nand, single: not },
  or: { inner: or, outer: or, single: copy },
  nor: { inner: or, outer: nor, single: not },
  xor: { inner: xor, outer: xor, single: copy },
  xnor: { inner: xor, outer: xnor, single: not },
  not: { inner: not, outer: not, single: not },
  buf: { inner: copy, outer: copy, single: copy },
};
