/**
 * A circuit without feedback as one program: the good values, then from the outputs backwards under which
 * patterns a change of each net would be seen, then under which each fault is.
 *
 * Where a net has one load, what is seen of it follows from that gate and from what is seen of its output.
 * Where it branches, its change is followed through the gates it reaches, only until all ways meet again in one
 * net, of which it is known already.
 *
 * @source fault-free values of 32 patterns a word and one fault at a time: J. A. Waicukauski et al., Fault
 *   simulation for structured VLSI, VLSI Systems Design, 1985; what is seen inside a region without branches: K. J.
 *   Antreich and M. H. Schulz, IEEE Trans. CAD 6(5), 1987; stopping where ways meet: F. Maamari and J. Rajski, IEEE
 *   Trans. CAD 9(2), 1990 (all three from memory)
 */
import type { FaultClasses } from "../collapse.ts";
import type { Fault } from "../fault.ts";
import { type BitProgram, BitProgramWriter, OPERATIONS } from "./bit-program.ts";
import { type NodeGraph, nodeGraph, type TwoInputNode } from "./two-input-nodes.ts";

export interface ObservationProgram {
  readonly program: BitProgram;
  /** Row of a net's good value: its number. */
  readonly firstDetectionRow: number;
  /** Evaluations of gates of the circuit under one pattern: good ones, and those with a change followed. */
  readonly gateEvaluations: number;
}

const { and, nand, or, nor, xor, xnor, not, copy, andNot } = OPERATIONS;

/**
 * @param observed nets at which a difference counts
 * @returns a program whose rows 0 to nets - 1 hold the good values, those of inputs and flip-flops filled in by the
 *   caller, and whose rows from `firstDetectionRow` hold the patterns that detect each class
 */
export function observationProgram(
  classes: FaultClasses,
  observed: ReadonlySet<number>,
): ObservationProgram {
  return new Compilation(classes, observed).compile();
}

/** A pin of a node. */
interface Load {
  readonly node: number;
  readonly side: "first" | "second";
}

class Compilation {
  readonly #classes: FaultClasses;
  readonly #observed: ReadonlySet<number>;
  readonly #graph: NodeGraph;
  readonly #writer = new BitProgramWriter();
  readonly #good: number;
  /** Of each net, its value with a change upstream. */
  readonly #changed: number;
  /** Of each net, the patterns under which its change is seen. */
  readonly #seen: number;
  readonly #detected: number;
  readonly #scratch: number;
  readonly #loads: readonly Load[][];
  readonly #faultsAt: ReadonlyMap<number, readonly number[]>;
  #nodesEvaluated = 0;

  constructor(classes: FaultClasses, observed: ReadonlySet<number>) {
    this.#classes = classes;
    this.#observed = observed;
    this.#graph = nodeGraph(classes.circuit);
    const { netCount, nodes } = this.#graph;
    this.#good = this.#writer.rows(netCount);
    this.#changed = this.#writer.rows(netCount);
    this.#seen = this.#writer.rows(netCount);
    this.#detected = this.#writer.rows(classes.classes.length);
    this.#scratch = this.#writer.rows(1);
    const loads: Load[][] = Array.from({ length: netCount }, () => []);
    for (const [node, { operation, first, second }] of nodes.entries()) {
      loads[first]?.push({ node, side: "first" });
      if (operation !== copy && operation !== not) loads[second]?.push({ node, side: "second" });
    }
    this.#loads = loads;
    this.#faultsAt = representativesByNet(classes);
  }

  compile(): ObservationProgram {
    const { nodes, netCount } = this.#graph;
    for (const { operation, output, first, second } of nodes) {
      this.#writer.add(operation, this.#good + output, this.#good + first, this.#good + second);
    }
    this.#nodesEvaluated += nodes.length;
    const driven = new Set(nodes.map(({ output }) => output));
    const sources = Array.from({ length: netCount }, (_, net) => net).filter(
      (net) => !driven.has(net),
    );
    for (const { output } of nodes.toReversed()) this.#observe(output);
    for (const net of sources) this.#observe(net);
    const { circuit } = this.#classes;
    return {
      program: this.#writer.finish(),
      firstDetectionRow: this.#detected,
      gateEvaluations: (this.#nodesEvaluated * circuit.gateOutput.length) / (nodes.length || 1),
    };
  }

  #observe(net: number): void {
    const loads = this.#loads[net] ?? [];
    const seen = this.#seen + net;
    const [only] = loads;
    if (this.#observed.has(net)) this.#writer.add(xnor, seen, seen);
    else if (only === undefined) this.#writer.add(xor, seen, seen);
    else if (loads.length === 1) this.#seeThrough(only, seen);
    else this.#follow(net);
    for (const index of this.#faultsAt.get(net) ?? []) this.#detect(index);
  }

  /** What is seen of one pin, from what is seen of the output it leads to. */
  #seeThrough({ node, side }: Load, target: number): void {
    const { operation, first, second, output } = this.#node(node);
    const other = this.#good + (side === "first" ? second : first);
    const seen = this.#seen + output;
    if (operation === and || operation === nand) this.#writer.add(and, target, seen, other);
    else if (operation === or || operation === nor) this.#writer.add(andNot, target, seen, other);
    else this.#writer.add(copy, target, seen);
  }

  /** What is seen of a net that branches: change it under every pattern and follow. */
  #follow(root: number): void {
    const writer = this.#writer;
    const seen = this.#seen + root;
    const front = new Front(this.#loads, root);
    writer.add(not, this.#changed + root, this.#good + root);
    writer.add(xor, seen, seen);
    const value = (net: number) => (front.reached.has(net) ? this.#changed : this.#good) + net;
    for (let index = front.start; front.openCount > 0; index++) {
      const node = this.#node(index);
      if (!front.reached.has(node.first) && !front.reached.has(node.second)) continue;
      writer.add(
        node.operation,
        this.#changed + node.output,
        value(node.first),
        value(node.second),
      );
      this.#nodesEvaluated += 1;
      front.pass(node);
      if (this.#observed.has(node.output)) this.#seeChange(node.output, seen);
      const meeting = front.meeting();
      if (meeting === null) continue;
      this.#seeChange(meeting, seen, this.#seen + meeting);
      break;
    }
  }

  /** Add the patterns under which a net has changed, as far as that is seen further on. */
  #seeChange(net: number, seen: number, further?: number): void {
    this.#writer.add(xor, this.#scratch, this.#changed + net, this.#good + net);
    if (further !== undefined) this.#writer.add(and, this.#scratch, this.#scratch, further);
    this.#writer.add(or, seen, seen, this.#scratch);
  }

  #detect(index: number): void {
    const fault = this.#representative(index);
    const target = this.#detected + index;
    let seen = this.#seen + fault.net;
    if (fault.site.kind === "observed") {
      seen = target;
      this.#writer.add(this.#observed.has(fault.net) ? xnor : xor, target, target);
    } else if (fault.site.kind === "gate pin") {
      seen = target;
      this.#seeThrough(this.#loadAt(fault.site.gate, fault.site.pin), target);
    }
    this.#writer.add(fault.stuckAt === 0 ? and : andNot, target, seen, this.#good + fault.net);
  }

  #loadAt(gate: number, pin: number): Load {
    const at = (this.#classes.circuit.pinStart[gate] ?? 0) + pin;
    const node = this.#graph.nodeOfPin[at] ?? 0;
    return { node, side: pin === 0 ? "first" : "second" };
  }

  #representative(index: number): Fault {
    return representative(this.#classes, index);
  }

  #node(index: number): TwoInputNode {
    const node = this.#graph.nodes[index];
    if (node === undefined) throw new Error(`there is no node ${index}`);
    return node;
  }
}

/** Nets a change has reached, and those of them that have not yet led everywhere they lead. */
class Front {
  readonly reached = new Set<number>();
  readonly start: number;
  readonly #loads: readonly (readonly Load[])[];
  readonly #open = new Map<number, number>();

  constructor(loads: readonly (readonly Load[])[], root: number) {
    this.#loads = loads;
    this.start = Math.min(...(loads[root] ?? []).map(({ node }) => node));
    this.#reach(root);
  }

  get openCount(): number {
    return this.#open.size;
  }

  /** The one net that all ways still open lead through, before any of them has gone on from it; or null. */
  meeting(): number | null {
    const [only] = this.#open;
    if (only === undefined || this.#open.size > 1) return null;
    const [net, left] = only;
    return left === this.#loads[net]?.length ? net : null;
  }

  /** A node that takes from reached nets has been evaluated. */
  pass({ operation, first, second, output }: TwoInputNode): void {
    this.#close(first);
    if (operation !== copy && operation !== not) this.#close(second);
    this.#reach(output);
  }

  #reach(net: number): void {
    this.reached.add(net);
    const count = this.#loads[net]?.length ?? 0;
    if (count > 0) this.#open.set(net, count);
  }

  #close(net: number): void {
    const left = this.#open.get(net);
    if (left === undefined) return;
    if (left === 1) this.#open.delete(net);
    else this.#open.set(net, left - 1);
  }
}

function representative({ classes, faults }: FaultClasses, index: number): Fault {
  const fault = faults[classes[index]?.[0] ?? -1];
  if (fault === undefined) throw new Error(`there is no fault class ${index}`);
  return fault;
}

function representativesByNet(classes: FaultClasses): Map<number, number[]> {
  const byNet = new Map<number, number[]>();
  for (const index of classes.classes.keys()) {
    const { net } = representative(classes, index);
    const known = byNet.get(net);
    if (known) known.push(index);
    else byNet.set(net, [index]);
  }
  return byNet;
}
