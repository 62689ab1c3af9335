/** Why a sequence does not notice a fault: how far its effect came, and what stopped it. */
import type { LineLevels } from "../../events/plan.ts";
import { CONTROLLING } from "../faults/collapse.ts";
import type { Fault } from "../faults/fault.ts";
import type { LogicalEffect } from "../faults/parts/part-fault.ts";
import { type Circuit, gateTypeOf, pinsOf } from "../netlist/circuit.ts";
import { listedNets } from "../netlist/listed-nets.ts";
import { FaultMachines, type GradeStop, UNKNOWN } from "./fault-machines.ts";

export interface ReasonTask {
  readonly circuit: Circuit;
  readonly effects: readonly LogicalEffect[];
  readonly stops: readonly GradeStop[];
  readonly atRest: LineLevels;
}

/** What one walk showed of one fault. */
interface Trace {
  /** Stops at which a stuck line should be at the other level. */
  excited: number;
  /** First stop at which some net differs for sure, none of them read; of the nets, those furthest on. */
  unread: { readonly label: string; readonly nets: readonly string[] } | null;
  /** What held the effect back at the gate it enters, by stop. */
  readonly heldBy: Set<string>;
}

export interface UndetectedReason {
  /** A sentence without its stop, naming few of many nets. */
  readonly reason: string;
  /** All nets the effect changes at the first stop it shows at, none of them read there. */
  readonly unread: readonly string[];
}

/** Reasons for these effects, by index. */
export function undetectedReasons(
  task: ReasonTask,
  wanted: readonly number[],
): Map<number, UndetectedReason> {
  const { circuit, stops, atRest } = task;
  const effects = wanted.flatMap((index) => task.effects[index] ?? []);
  const machines = new FaultMachines(circuit, effects, atRest);
  const traces = effects.map((): Trace => ({ excited: 0, unread: null, heldBy: new Set() }));
  for (const { label, set, clocksAfter = 0 } of stops) {
    machines.drive(set);
    for (const [effect, trace] of traces.entries())
      note(machines, effect, effects[effect], trace, label);
    for (let edge = 0; edge < clocksAfter; edge++) machines.clock();
  }
  return new Map(
    wanted.map((index, place) => {
      const trace = traces[place];
      const unread = trace?.unread?.nets ?? [];
      return [index, { reason: reason(circuit, effects[place], trace), unread }];
    }),
  );
}

function note(
  machines: FaultMachines,
  index: number,
  effect: LogicalEffect | undefined,
  trace: Trace,
  label: string,
): void {
  const { circuit } = machines;
  const faults = effect?.kind === "stuck" ? effect.faults : [];
  const excited = faults.filter(({ net, stuckAt }) => machines.good(net) === 2 - stuckAt);
  if (excited.length > 0) trace.excited += 1;
  // Only the reading itself is at fault, so no net inside differs.
  const reading = excited.find(({ site }) => site.kind === "observed");
  if (reading !== undefined) trace.unread ??= { label, nets: [circuit.nets[reading.net] ?? "?"] };
  const differs = [...circuit.nets.keys()].filter((net) => {
    const good = machines.good(net);
    const here = machines.inside(index, net);
    return good !== UNKNOWN && here !== UNKNOWN && good !== here;
  });
  if (differs.length > 0) {
    trace.unread ??= { label, nets: differs.map((net) => circuit.nets[net] ?? "?") };
    return;
  }
  for (const fault of excited) for (const held of heldBy(machines, fault)) trace.heldBy.add(held);
}

/** Other inputs of the gate a fault enters that alone decide its output. */
function heldBy(machines: FaultMachines, { site }: Fault): string[] {
  if (site.kind !== "gate pin") return [];
  const { circuit } = machines;
  const controlling = CONTROLLING[gateTypeOf(circuit, site.gate)];
  if (controlling === null) return [];
  const holders = [...pinsOf(circuit, site.gate)].filter(
    (net, pin) => pin !== site.pin && machines.good(net) === controlling + 1,
  );
  return holders.map((net) => `${circuit.nets[net] ?? "?"} ${controlling === 1 ? "high" : "low"}`);
}

function reason(
  circuit: Circuit,
  effect: LogicalEffect | undefined,
  trace: Trace | undefined,
): string {
  if (effect === undefined || trace === undefined || effect.kind === "not modelled") return "";
  if (trace.unread !== null) {
    const { nets, label } = trace.unread;
    return `it changes ${listedNets(nets)} at ${label}, which nothing reads then`;
  }
  if (effect.kind === "tied")
    return "no stop brings the tied nets to levels that differ and show it";
  if (trace.excited === 0) {
    const [fault, more] = effect.faults;
    if (fault === undefined || more !== undefined)
      return "no stop brings any of its nets to the other level";
    const net = circuit.nets[fault.net] ?? "?";
    return `never excited: ${net} is never ${fault.stuckAt === 1 ? "low" : "high"} for sure`;
  }
  const [fault] = effect.faults;
  const gate = fault?.site.kind === "gate pin" ? circuit.netlist.gates[fault.site.gate] : undefined;
  if (gate !== undefined && trace.heldBy.size > 0)
    return `masked at ${gate.name}: whenever it matters, ${[...trace.heldBy].join(" or ")} decides alone`;
  return "excited, and what it changes is not known for sure anywhere";
}
