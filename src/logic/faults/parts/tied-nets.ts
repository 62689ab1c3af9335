/**
 * Nets that are joined where they should not be, as a netlist: each keeps what drives it under a name of its
 * own, and what is taken and read is what the stronger leaves of it.
 */
import type { Gate, Netlist } from "../../netlist/netlist.ts";

export interface Tie {
  readonly net: string;
  /** Low when the other net is low, or high when it is high; `maybe` where which of them wins is not known. */
  readonly pulled: "low" | "high" | "maybe low" | "maybe high";
  readonly by: string;
  /**
   * Whether the other net is meant as its own driver would leave it, or as it is with its own ties; the former
   * where both pull each other.
   */
  readonly as: "driven" | "found";
}

/**
 * What becomes of two tied nets while the one is driven high and the other low.
 *
 * A plate that conducts pulls down one that is cut off, and so does a line held low by its contact. A line held
 * high against a plate that conducts, or against another line, leaves both somewhere between: it stands behind
 * some resistance too (common practice; by how much is the rig's affair).
 */
export function pull(
  { high, low }: { readonly high: string; readonly low: string },
  lines: ReadonlySet<string>,
  as: Tie["as"],
): Tie[] {
  if (!lines.has(high)) return [{ net: high, pulled: "low", by: low, as }];
  return [
    { net: high, pulled: "maybe low", by: low, as: "driven" },
    { net: low, pulled: "maybe high", by: high, as: "driven" },
  ];
}

export interface TiedNetlist {
  readonly netlist: Netlist;
  /** Further inputs, never known. */
  readonly unknownNets: readonly string[];
}

/** A point cannot stand in a name of a board file, so these meet no net of it. */
const driven = (net: string) => `${net}.driven`;
const UNKNOWN = "tie.unknown";

/** @param ties of any nets, lines included; several of one net act one after the other */
export function tieNets(netlist: Netlist, ties: readonly Tie[]): TiedNetlist {
  const byNet = new Map<string, Tie[]>();
  for (const tie of ties) byNet.set(tie.net, [...(byNet.get(tie.net) ?? []), tie]);
  const own = (net: string) => (byNet.has(net) ? driven(net) : net);
  const joints = [...byNet].flatMap(([net, several]) =>
    several.flatMap((tie, index) => {
      const before = index === 0 ? driven(net) : `${net}.tie${index}`;
      const after = index === several.length - 1 ? net : `${net}.tie${index + 1}`;
      return joint(before, after, tie, tie.as === "driven" ? own(tie.by) : tie.by);
    }),
  );
  const unknownNets = ties.some(({ pulled }) => pulled.startsWith("maybe")) ? [UNKNOWN] : [];
  return {
    netlist: {
      ...netlist,
      inputs: [...netlist.inputs.map(own), ...unknownNets],
      gates: [...netlist.gates.map((gate) => ({ ...gate, output: own(gate.output) })), ...joints],
      flipFlops: netlist.flipFlops.map((one) => ({ ...one, output: own(one.output) })),
    },
    unknownNets,
  };
}

function joint(before: string, after: string, { pulled }: Tie, other: string): Gate[] {
  const gate = (type: Gate["type"], inputs: string[], output: string): Gate => ({
    name: output,
    type,
    inputs,
    output,
  });
  const doubted = `${after}.doubted`;
  switch (pulled) {
    case "low":
      return [gate("and", [before, other], after)];
    case "high":
      return [gate("or", [before, other], after)];
    case "maybe low":
      return [gate("or", [other, UNKNOWN], doubted), gate("and", [before, doubted], after)];
    case "maybe high":
      return [gate("and", [other, UNKNOWN], doubted), gate("or", [before, doubted], after)];
  }
}
