/** Every single stuck-at fault of a circuit, by number: line l stuck at v is fault 2 l + v. */
import type { Circuit } from "../netlist/circuit.ts";
import type { Fault } from "./fault.ts";
import { type CircuitLines, linesOf } from "./lines.ts";

export interface FaultList {
  readonly circuit: Circuit;
  readonly lines: CircuitLines;
  readonly faults: readonly Fault[];
}

/** Both faults of every line, in the order of the lines, stuck at 0 first. */
export function faultList(circuit: Circuit): FaultList {
  const lines = linesOf(circuit);
  const faults = lines.lines.flatMap(({ net, site }): Fault[] => [
    { net, site, stuckAt: 0 },
    { net, site, stuckAt: 1 },
  ]);
  return { circuit, lines, faults };
}
