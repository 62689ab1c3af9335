/**
 * Lines of a circuit, by number: every net's stem, and a branch to each load of a net that has two or more.
 * In netlist order: a stem, then its branches, flip-flops before gates before the outside.
 *
 * @source conventions of the ISCAS-85 and ISCAS-89 fault counts, as recomputed in tests/references/logic
 */
import type { Circuit } from "../netlist/circuit.ts";
import type { FaultSite } from "./fault.ts";

interface Line {
  readonly net: number;
  readonly site: FaultSite;
}

export interface CircuitLines {
  readonly lines: readonly Line[];
  /** Of each net, the line of its stem. */
  readonly stem: Int32Array;
  /** Of each pin (as in `pinNet`), the line that ends there: a branch, or the stem of a net with one load. */
  readonly atPin: Int32Array;
  /** Of each flip-flop, the line that ends at its data input. */
  readonly atData: Int32Array;
}

const STEM: FaultSite = { kind: "stem" };
const OBSERVED: FaultSite = { kind: "observed" };

/** All lines of a circuit. A net taken twice by one gate has two loads; one named twice as output is seen once. */
export function linesOf(circuit: Circuit): CircuitLines {
  const loads = loadsOf(circuit);
  const lines: Line[] = [];
  const stem = new Int32Array(circuit.nets.length);
  const atPin = new Int32Array(circuit.pinNet.length);
  const atData = new Int32Array(circuit.flipFlopData.length);
  const end = (site: FaultSite, line: number) => {
    if (site.kind === "gate pin") atPin[(circuit.pinStart[site.gate] ?? 0) + site.pin] = line;
    if (site.kind === "flip-flop data") atData[site.flipFlop] = line;
  };
  for (const [net, sites] of loads.entries()) {
    stem[net] = lines.length;
    lines.push({ net, site: STEM });
    for (const site of sites) {
      end(site, sites.length > 1 ? lines.length : lines.length - 1);
      if (sites.length > 1) lines.push({ net, site });
    }
  }
  return { lines, stem, atPin, atData };
}

/** Where each net is taken, by net. */
function loadsOf(circuit: Circuit): FaultSite[][] {
  const loads: FaultSite[][] = circuit.nets.map(() => []);
  for (const [flipFlop, net] of circuit.flipFlopData.entries()) {
    loads[net]?.push({ kind: "flip-flop data", flipFlop });
  }
  for (let gate = 0; gate < circuit.gateOutput.length; gate++) {
    const from = circuit.pinStart[gate] ?? 0;
    const to = circuit.pinStart[gate + 1] ?? from;
    for (let pin = 0; from + pin < to; pin++) {
      loads[circuit.pinNet[from + pin] ?? -1]?.push({ kind: "gate pin", gate, pin });
    }
  }
  for (const net of new Set(circuit.outputs)) loads[net]?.push(OBSERVED);
  return loads;
}

/**
 * Checkpoint lines: inputs and branches, with the outputs of flip-flops, which are inputs to the gates.
 *
 * Without exclusive-or gates and without feedback, a test set for all faults of these lines is one for all faults;
 * unless one of them is untestable, when a fault it is dominated by may still need its own test.
 *
 * @source checkpoint theorem, and its limits, as kept in tests/references/logic/fault-collapsing.json
 */
export function checkpointLines(circuit: Circuit, { lines }: CircuitLines): number[] {
  return [...lines.keys()].filter((index) => {
    const line = lines[index];
    return line && (line.site.kind !== "stem" || circuit.driver[line.net] === -1);
  });
}
