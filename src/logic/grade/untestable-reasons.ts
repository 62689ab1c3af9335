/** Faults that no sequence can show at the nets that are read, with the proof in words. */
import type { Fault } from "../faults/fault.ts";
import type { LogicalEffect } from "../faults/parts/part-fault.ts";
import { combinationalTest } from "../generate/combinational.ts";
import { type Circuit, takersOfNet } from "../netlist/circuit.ts";

/** Any: nothing of the result but the proofs is used. */
const SEED = 1;

/**
 * Proofs for those of `missed`, by index, for which there is one: nothing read hangs on the fault, or, on a board
 * without feedback, every pattern of the lines has been ruled out.
 *
 * @param read nets that are read at some stop
 */
export function untestableReasons(
  circuit: Circuit,
  effects: readonly LogicalEffect[],
  missed: readonly number[],
  read: readonly number[],
): Map<number, string> {
  const reasons = new Map<number, string>();
  const single = missed.flatMap((index) => {
    const effect = effects[index];
    const [fault, more] = effect?.kind === "stuck" ? effect.faults : [];
    return fault === undefined || more !== undefined ? [] : [{ index, fault }];
  });
  const open = single.filter(({ index, fault }) => {
    if (reachesAny(circuit, fault, read)) return true;
    reasons.set(index, `no net that is read hangs on ${circuit.nets[fault.net] ?? "it"} there`);
    return false;
  });
  if (circuit.loops.length > 0 || circuit.flipFlopData.length > 0 || open.length === 0)
    return reasons;
  const { untestable } = combinationalTest({
    circuit,
    faults: open.map(({ fault }) => fault),
    observed: read,
    seed: SEED,
  });
  for (const place of untestable) {
    const index = open[place]?.index;
    if (index !== undefined)
      reasons.set(index, "no pattern of the lines shows it at the nets that are read (proved)");
  }
  return reasons;
}

function reachesAny(circuit: Circuit, fault: Fault, read: readonly number[]): boolean {
  const targets = new Set(read);
  const { site, net } = fault;
  if (site.kind === "observed") return targets.has(net);
  if (site.kind === "flip-flop data")
    return reaches(circuit, circuit.flipFlopOutput[site.flipFlop] ?? -1, targets);
  if (site.kind === "gate pin")
    return reaches(circuit, circuit.gateOutput[site.gate] ?? -1, targets);
  return reaches(circuit, net, targets);
}

function reaches(circuit: Circuit, from: number, targets: ReadonlySet<number>): boolean {
  const reached = new Set([from]);
  for (const net of reached) {
    if (targets.has(net)) return true;
    for (const gate of takersOfNet(circuit, net)) reached.add(circuit.gateOutput[gate] ?? -1);
    for (const [flipFlop, data] of circuit.flipFlopData.entries())
      if (data === net) reached.add(circuit.flipFlopOutput[flipFlop] ?? -1);
  }
  return false;
}
