/**
 * The trade's faults of a whole board, part by part: those of each stage, of each tube, of neighbouring nets
 * bridged, and of each supply.
 */
import type { Board } from "../../../formats/board.schema.ts";
import { type Circuit, compileCircuit } from "../../netlist/circuit.ts";
import type { BoardLogic } from "../../netlist/from-board.ts";
import type { Fault } from "../fault.ts";
import { PART_FAULT_KINDS, type PartFault } from "./part-fault.ts";
import { cutOffLevel, outputStuck, type StagePlace, stageFaults } from "./stage-faults.ts";
import { pull, tieNets } from "./tied-nets.ts";

/**
 * All faults of a board's parts, by kind and then in the order of the file.
 *
 * @param logic of this board; stages whose logic is not known have no faults here
 */
export function partFaults(
  board: Board,
  logic: BoardLogic,
  circuit: Circuit = compileCircuit(logic.netlist),
): PartFault[] {
  const gateOf = new Map(circuit.netlist.gates.map(({ name }, gate) => [name, gate]));
  const lines = new Set(logic.lines);
  const places = Object.entries(board.stages).flatMap(([name, stage]): StagePlace[] => {
    const gate = gateOf.get(name);
    return gate === undefined ? [] : [{ circuit, name, stage, gate, lines }];
  });
  const all = [
    ...places.flatMap(stageFaults),
    ...tubeFaults(places),
    ...bridges(board, places, circuit, lines),
    ...supplyFaults(board, places),
  ];
  return PART_FAULT_KINDS.flatMap((kind) => all.filter((fault) => fault.kind === kind));
}

function tubeFaults(places: readonly StagePlace[]): PartFault[] {
  const positions = new Map<string, StagePlace[]>();
  for (const place of places) {
    const { position } = place.stage;
    if (position !== undefined)
      positions.set(position, [...(positions.get(position) ?? []), place]);
  }
  return [...positions].map(([position, own]) => ({
    kind: "tube missing",
    part: position,
    position,
    text: `${position} missing, or its heater dark: ${own.map(({ stage }) => stage.output).join(" and ")} as cut off`,
    effect: { kind: "stuck", faults: allCutOff(own) },
    // Common practice: series heaters go out like a string of lamps.
    unseen: "which tube of a string of heaters it is: all of the string go dark together",
  }));
}

function allCutOff(places: readonly StagePlace[]): Fault[] {
  return places.map((place) => outputStuck(place, cutOffLevel(place)));
}

/** Neighbours on the connector and plates of one socket, where a drop of solder joins them (common practice). */
function bridges(
  board: Board,
  places: readonly StagePlace[],
  circuit: Circuit,
  lines: ReadonlySet<string>,
): PartFault[] {
  const driven = new Set([...lines, ...places.map(({ stage }) => stage.output)]);
  const pairs = new Map<string, { nets: readonly [string, string]; position: string }>();
  const add = (a: string | undefined, b: string | undefined, position: string) => {
    if (a === undefined || b === undefined || a === b || !driven.has(a) || !driven.has(b)) return;
    const nets = a < b ? ([a, b] as const) : ([b, a] as const);
    const key = nets.join("\0");
    if (!pairs.has(key)) pairs.set(key, { nets, position });
  };
  for (const [pin, net] of Object.entries(board.connector)) {
    const next = `${Number(pin) + 1}`;
    add(net, board.connector[next], `pins ${pin} and ${next}`);
  }
  for (const [index, { stage }] of places.entries()) {
    for (const { stage: other } of places.slice(index + 1)) {
      if (stage.position !== undefined && stage.position === other.position)
        add(stage.output, other.output, stage.position);
    }
  }
  const bridge = (a: string, b: string) => [
    ...pull({ high: a, low: b }, lines, "driven"),
    ...pull({ high: b, low: a }, lines, "driven"),
  ];
  return [...pairs.values()].map(({ nets: [a, b], position }) => ({
    kind: "nets bridged",
    part: `${a} and ${b}`,
    position,
    text: `${a} and ${b} bridged at ${position}`,
    effect: { kind: "tied", ...tieNets(circuit.netlist, bridge(a, b)) },
    unseen: "a bridge of some resistance, which shifts levels and not logic",
  }));
}

function supplyFaults(board: Board, places: readonly StagePlace[]): PartFault[] {
  const tubes = places.filter(({ stage }) => stage.position !== undefined);
  const unseen = "the run's own gates, which measure each rail before anything is stepped";
  const made = (rail: string, what: string, faults: Fault[]): PartFault => ({
    kind: "supply missing",
    part: rail,
    position: "supplies",
    text: `${rail} missing: ${what}`,
    effect: { kind: "stuck", faults },
    unseen,
  });
  const conducting = tubes.map((place) => outputStuck(place, (1 - cutOffLevel(place)) as 0 | 1));
  const low = tubes.map((place) => outputStuck(place, 0));
  return [
    made("heater", "every section as cut off", allCutOff(tubes)),
    ...(board.rails.bias === undefined ? [] : [made("bias", "every section conducts", conducting)]),
    made("plate", "every plate low", low),
  ];
}
