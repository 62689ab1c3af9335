/** What a sequence expects beside what the model says: filled in, or found to contradict. */
import type { ExpectedClasses } from "../../events/plan.ts";
import type { ValuePath } from "../../formats/yaml-tree.ts";
import type { Circuit } from "../netlist/circuit.ts";
import { levelWord, stagePath } from "./causes.ts";
import { type SequenceWalk, UNKNOWN, type Walked } from "./walk.ts";

/**
 * Classes of nets at a stop, in the order in which a fault spreads: what the lines force first.
 *
 * @param nets to be told; what the circuit has not, and what is unknown, is left out
 */
export function classesAt(
  circuit: Circuit,
  { levels }: Pick<Walked, "levels">,
  nets: readonly string[],
): ExpectedClasses {
  const wanted = new Set(nets);
  const classes: Record<string, "low" | "high"> = {};
  for (const gate of circuit.order) {
    const net = circuit.gateOutput[gate] ?? -1;
    const name = circuit.nets[net] ?? "";
    const word = levelWord(levels[net] ?? UNKNOWN);
    if (wanted.has(name) && word !== "X") classes[name] = word;
  }
  return classes;
}

/** A hand-written expectation that the model does not share. Both stand; the board decides. */
export interface Contradiction {
  readonly walked: Walked;
  readonly net: string;
  /** Of the class in the sequence file. */
  readonly path: ValuePath;
  readonly written: string;
  readonly modelled: "low" | "high";
  /** How the model comes to its level. */
  readonly stagePath: string;
}

/** Every contradiction, once a place of the file and value, in the order of the walk. */
export function contradictions(walk: SequenceWalk): Contradiction[] {
  const found = new Map<string, Contradiction>();
  for (const walked of [...walk.pass, ...walk.cycle]) {
    const { expect, expectPath } = walked.stop;
    if (expectPath === null) continue;
    for (const [net, written] of Object.entries(expect)) {
      const number = walk.circuit.netOf.get(net);
      const modelled = number === undefined ? "X" : levelWord(walked.levels[number] ?? UNKNOWN);
      if (modelled === "X" || modelled === written) continue;
      const path = [...expectPath, net];
      const key = [...path, modelled].join("\0");
      if (found.has(key)) continue;
      found.set(key, {
        walked,
        net,
        path,
        written,
        modelled,
        stagePath: stagePath(walk.circuit, walked.levels, net),
      });
    }
  }
  return [...found.values()];
}

/** `Q is expected low and the model says high: Q is V1b: nor of RESET low, QN low`. */
export function contradictionText({
  net,
  written,
  modelled,
  stagePath: how,
}: Contradiction): string {
  return `${net} is expected ${written}, and the model says ${modelled}${how === "" ? "" : `: ${how}`}`;
}
