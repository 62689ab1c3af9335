/**
 * Single stuck-at faults. A line is a net's stem, or one of its branches: a net with two or more loads has a
 * branch to each, and being observed counts as a load where the net also drives something.
 *
 * @source conventions of the ISCAS-85 and ISCAS-89 fault counts, as recomputed in tests/references/logic
 */
import type { Circuit } from "../netlist/circuit.ts";

export type FaultSite =
  /** The net as its driver leaves it: all that take from it see the fault. */
  | { readonly kind: "stem" }
  /** What one pin of one gate sees. */
  | { readonly kind: "gate pin"; readonly gate: number; readonly pin: number }
  | { readonly kind: "flip-flop data"; readonly flipFlop: number }
  /** What is seen from outside, and not by what the net drives. */
  | { readonly kind: "observed" };

export interface Fault {
  readonly net: number;
  readonly site: FaultSite;
  readonly stuckAt: 0 | 1;
}

/** `Q/0` a stem, `Q->QN.1/0` the branch into a pin counted from 0, `Q->PO/0` the branch to the outside. */
export function faultName({ netlist, nets }: Circuit, { net, site, stuckAt }: Fault): string {
  const from = nets[net] ?? "?";
  switch (site.kind) {
    case "stem":
      return `${from}/${stuckAt}`;
    case "gate pin":
      return `${from}->${netlist.gates[site.gate]?.output ?? "?"}.${site.pin}/${stuckAt}`;
    case "flip-flop data":
      return `${from}->${netlist.flipFlops[site.flipFlop]?.output ?? "?"}.0/${stuckAt}`;
    case "observed":
      return `${from}->PO/${stuckAt}`;
  }
}
