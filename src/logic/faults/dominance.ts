/**
 * Classes that need no test of their own: a gate's output stuck at the value it has with no input forcing it is
 * seen by every test for one of its inputs stuck at the value that does not force.
 *
 * @source dominance as defined in tests/references/logic/fault-collapsing.json (some authors use the word the
 *   other way round)
 */
import { gateTypeOf } from "../netlist/circuit.ts";
import { CONTROLLING, type FaultClasses, INVERTING } from "./collapse.ts";

/**
 * Classes, by number, that are left as targets.
 *
 * A target that turns out untestable covers nothing: what dominates it must then be looked at by itself.
 *
 * @throws Error for a circuit with feedback or flip-flops, where the dominated fault may spoil the state its
 *   dominator's test relies on
 */
export function withoutDominating({ circuit, lines, classes, classOf }: FaultClasses): number[] {
  if (circuit.loops.length > 0 || circuit.flipFlopData.length > 0) {
    throw new Error(
      `dominance does not hold in ${circuit.netlist.name}, which keeps state: collapse it by equivalence only`,
    );
  }
  const dominating = new Set<number>();
  for (let gate = 0; gate < circuit.gateOutput.length; gate++) {
    const pins = (circuit.pinStart[gate + 1] ?? 0) - (circuit.pinStart[gate] ?? 0);
    const type = gateTypeOf(circuit, gate);
    const controlling = CONTROLLING[type];
    if (pins < 2 || controlling === null) continue;
    // An and gate's output stuck at 1: seen with any one input 0, the rest 1.
    const stuckAt = 1 ^ controlling ^ (INVERTING.has(type) ? 1 : 0);
    const output = lines.stem[circuit.gateOutput[gate] ?? 0] ?? 0;
    dominating.add(classOf[2 * output + stuckAt] ?? -1);
  }
  return [...classes.keys()].filter((index) => !dominating.has(index));
}
