/** Feedback that no flip-flop interrupts, where one would not expect it. */
import type { Circuit } from "../netlist/circuit.ts";

/**
 * Loops of gates in a clocked netlist, by the names of their nets: each is a latch or an oscillator of its own
 * that the clock does not hold. Empty for a netlist without flip-flops, where loops are what it is about.
 */
export function unclockedLoops(circuit: Circuit): string[][] {
  if (circuit.flipFlopOutput.length === 0) return [];
  return circuit.loops.map((group) =>
    Array.from(group, (gate) => circuit.nets[circuit.gateOutput[gate] as number] ?? "?"),
  );
}
