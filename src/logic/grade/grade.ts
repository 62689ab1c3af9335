/**
 * What a sequence would notice: each fault detected, possibly detected, undetected or untestable, where first,
 * and why not.
 *
 * Detected: at some stop a net that is read is known without the fault and known to be the opposite with it. Where
 * it is only not known any more with the fault, the fault is possibly detected.
 *
 * @source this meaning of detected, as in tests/references/logic/README.md
 */
import type { LineLevels } from "../../events/plan.ts";
import type { FaultClasses } from "../faults/collapse.ts";
import { faultName } from "../faults/fault.ts";
import type { LogicalEffect, PartFault } from "../faults/parts/part-fault.ts";
import type { Circuit } from "../netlist/circuit.ts";
import { listedNets } from "../netlist/listed-nets.ts";
import { FaultMachines, type GradeStop } from "./fault-machines.ts";
import { undetectedReasons } from "./undetected-reasons.ts";
import { untestableReasons } from "./untestable-reasons.ts";

export type Outcome =
  | "detected"
  | "possibly detected"
  | "undetected"
  | "untestable"
  /** Logic cannot say. */
  | "not modelled";

interface Sight {
  /** Place of the stop, from 0, and its name. */
  readonly stop: number;
  readonly label: string;
  /** Nets that show it there. */
  readonly nets: readonly string[];
}

export interface Graded {
  readonly outcome: Outcome;
  /** First sure sight; null unless detected. */
  readonly first: Sight | null;
  /** Nets that show it for sure at some stop, and nets that are not known any more at some stop. */
  readonly surely: readonly string[];
  readonly perhaps: readonly string[];
  /** Nets that an undetected fault changes at the stop its reason names, none of them read there. */
  readonly unread: readonly string[];
  /** Why it is not detected, naming few of many nets; empty when it is. */
  readonly reason: string;
}

/** Stuck-at faults that no test tells apart. */
interface GradedClass extends Graded {
  /** Names of all members; the first stands for the class. */
  readonly names: readonly string[];
}

interface GradedPart extends Graded {
  readonly fault: PartFault;
}

export interface Grade {
  readonly board: string;
  readonly stopCount: number;
  /** Nets that are read at one stop or more, in the order of the circuit. */
  readonly nets: readonly string[];
  readonly classes: readonly GradedClass[];
  readonly parts: readonly GradedPart[];
  /** Nets of which the model knows nothing: with any, the grade is partial. */
  readonly unknownNets: readonly string[];
}

export interface GradeTask {
  readonly classes: FaultClasses;
  readonly parts: readonly PartFault[];
  readonly stops: readonly GradeStop[];
  /** Levels of lines before the first stop; a line missing here is not known until it is driven. */
  readonly atRest: LineLevels;
  readonly unknownNets?: readonly string[];
}

/** Take every fault of the task through the stops. */
export function grade(task: GradeTask): Grade {
  const { classes, parts, stops, atRest, unknownNets = [] } = task;
  const { circuit, faults } = classes;
  const effects: LogicalEffect[] = [
    ...classes.classes.map(([first = -1]): LogicalEffect => {
      const fault = faults[first];
      return { kind: "stuck", faults: fault ? [fault] : [] };
    }),
    ...parts.map(({ effect }) => effect),
  ];
  const sights = walked(circuit, effects, stops, atRest);
  const readNets = netsRead(circuit, stops);
  const missed = [...effects.keys()].filter((index) => sights[index]?.first === null);
  const untestable = untestableReasons(circuit, effects, missed, readNets);
  const left = missed.filter((index) => !untestable.has(index));
  const reasons = undetectedReasons({ circuit, effects, stops, atRest }, left);
  const graded = effects.map((effect, index): Graded => {
    const seen = sights[index] ?? { first: null, surely: [], perhaps: [] };
    if (effect.kind === "not modelled")
      return { ...seen, unread: [], outcome: "not modelled", reason: effect.reason };
    if (seen.first !== null) return { ...seen, unread: [], outcome: "detected", reason: "" };
    const proof = untestable.get(index);
    if (proof !== undefined) return { ...seen, unread: [], outcome: "untestable", reason: proof };
    const { reason = "", unread = [] } = reasons.get(index) ?? {};
    return seen.perhaps.length > 0
      ? { ...seen, unread, outcome: "possibly detected", reason: onlyPerhaps(effect, seen.perhaps) }
      : { ...seen, unread, outcome: "undetected", reason };
  });
  const count = classes.classes.length;
  return {
    board: circuit.netlist.name,
    stopCount: stops.length,
    nets: readNets.map((net) => circuit.nets[net] ?? "?"),
    classes: graded.slice(0, count).map((one, index) => ({
      ...one,
      names: [...(classes.classes[index] ?? [])].flatMap((member) => {
        const fault = faults[member];
        return fault ? [faultName(circuit, fault)] : [];
      }),
    })),
    parts: parts.flatMap((fault, index) => {
      const one = graded[count + index];
      return one ? [{ ...one, fault }] : [];
    }),
    unknownNets,
  };
}

function onlyPerhaps(effect: LogicalEffect, nets: readonly string[]): string {
  const names = listedNets(nets);
  return effect.kind === "tied" && effect.unknownNets.length > 0
    ? `a line held high pulls against what is low: ${names} may read between the levels, or as without the fault`
    : `with the fault ${names} may come to rest at either level`;
}

/** Nets that are read at some stop, by number, ascending. */
function netsRead(circuit: Circuit, stops: readonly GradeStop[]): number[] {
  const names = new Set(stops.flatMap(({ reads }) => reads));
  return [...circuit.nets.keys()].filter((net) => names.has(circuit.nets[net] ?? ""));
}

interface Seen {
  first: Sight | null;
  readonly surely: readonly string[];
  readonly perhaps: readonly string[];
}

function walked(
  circuit: Circuit,
  effects: readonly LogicalEffect[],
  stops: readonly GradeStop[],
  atRest: LineLevels,
): Seen[] {
  const machines = new FaultMachines(circuit, effects, atRest);
  const first: (Sight | null)[] = effects.map(() => null);
  const surely = effects.map(() => new Set<string>());
  const perhaps = effects.map(() => new Set<string>());
  for (const [stop, { label, set, reads, clocksAfter = 0 }] of stops.entries()) {
    machines.drive(set);
    for (const name of new Set(reads)) {
      const net = circuit.netOf.get(name);
      if (net === undefined) continue;
      machines.compare(net, (effect, detected) => {
        (detected ? surely : perhaps)[effect]?.add(name);
        if (!detected) return;
        const before = first[effect] ?? null;
        if (before === null) first[effect] = { stop, label, nets: [name] };
        else if (before.stop === stop) first[effect] = { ...before, nets: [...before.nets, name] };
      });
    }
    for (let edge = 0; edge < clocksAfter; edge++) machines.clock();
  }
  return effects.map((_, index) => ({
    first: first[index] ?? null,
    surely: [...(surely[index] ?? [])],
    perhaps: [...(perhaps[index] ?? [])].filter((net) => !surely[index]?.has(net)),
  }));
}
