/** What keeps a netlist from being simulated at all. */
import type { Gate, Netlist } from "./netlist.ts";

export interface NetlistProblem {
  readonly kind: "floating input" | "shorted outputs" | "wrong input count" | "no such output";
  /** Net that it is about. */
  readonly net: string;
  /** Gates or flip-flops at fault, by name. */
  readonly at: readonly string[];
  /** What is wrong and what to do next. */
  readonly reason: string;
}

/**
 * Every problem of a netlist, in the order of its parts; empty when it can be compiled.
 *
 * @param netlist of any size; names are taken as they are
 */
export function netlistProblems(netlist: Netlist): NetlistProblem[] {
  const drivers = driversOf(netlist);
  return [
    ...[...drivers].flatMap(([net, at]) => shorted(net, at)),
    ...netlist.gates.flatMap((gate) => wrongCount(gate)),
    ...floating(netlist, drivers),
    ...netlist.outputs.filter((net) => !drivers.has(net)).map(noSuchOutput),
  ];
}

/** Who drives each net, in file order. */
function driversOf(netlist: Netlist): Map<string, string[]> {
  const drivers = new Map<string, string[]>();
  const add = (net: string, by: string) => {
    const known = drivers.get(net);
    if (known) known.push(by);
    else drivers.set(net, [by]);
  };
  for (const net of netlist.inputs) add(net, `input ${net}`);
  for (const { name, output } of [...netlist.flipFlops, ...netlist.gates]) add(output, name);
  return drivers;
}

function shorted(net: string, at: readonly string[]): NetlistProblem[] {
  if (at.length < 2) return [];
  return [
    {
      kind: "shorted outputs",
      net,
      at,
      reason: `${at.join(" and ")} both drive ${net}: join them by a gate, or give one another net`,
    },
  ];
}

function wrongCount({ name, type, inputs, output }: Gate): NetlistProblem[] {
  const single = type === "not" || type === "buf";
  if (single ? inputs.length === 1 : inputs.length > 0) return [];
  return [
    {
      kind: "wrong input count",
      net: output,
      at: [name],
      reason: `${name} is ${type} with ${inputs.length} inputs: ${single ? "one is expected" : "at least one is expected"}`,
    },
  ];
}

function floating(netlist: Netlist, drivers: ReadonlyMap<string, unknown>): NetlistProblem[] {
  const takers = new Map<string, string[]>();
  const take = (net: string, by: string) => {
    if (!drivers.has(net)) takers.set(net, [...(takers.get(net) ?? []), by]);
  };
  for (const { name, data } of netlist.flipFlops) take(data, name);
  for (const { name, inputs } of netlist.gates) for (const net of inputs) take(net, name);
  return [...takers].map(([net, at]) => ({
    kind: "floating input",
    net,
    at,
    reason: `nothing drives ${net}, taken by ${at.join(", ")}: add the stage that does, or make it an input`,
  }));
}

function noSuchOutput(net: string): NetlistProblem {
  return {
    kind: "no such output",
    net,
    at: [],
    reason: `${net} is named as an output, and nothing drives it`,
  };
}
