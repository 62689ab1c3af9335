/**
 * A board's stages as a netlist. What the model does not know stays in it as an unknown: the net is then an
 * input that nothing drives to a known level, so that the rest of the board can be followed, and what hangs on
 * it is said to be unknown.
 */
import type { Board } from "../../formats/board.schema.ts";
import type { Gate, GateType, Netlist } from "./netlist.ts";

/** Kinds of stage whose logic is known, and the gate each is. */
const GATE_OF: Readonly<Record<string, GateType>> = {
  nor: "nor",
  nand: "nand",
  not: "not",
  and: "and",
  or: "or",
  buf: "buf",
  xor: "xor",
  xnor: "xnor",
  "diode-and": "and",
  "diode-or": "or",
  "wired-and": "and",
  "wired-or": "or",
};

/** Kinds of stage the model knows, in the order in which they are told. */
export const KNOWN_STAGE_TYPES: readonly string[] = Object.keys(GATE_OF);

interface BoardLogicProblem {
  readonly kind:
    | "unknown stage"
    | "floating input"
    | "shorted outputs"
    | "wrong input count"
    | "no such output";
  /** Where in the board file; empty for an observed net that is not on the board. */
  readonly path: readonly (string | number)[];
  readonly net: string;
  /** Stages it is about, by name. */
  readonly stages: readonly string[];
  readonly reason: string;
  readonly whatToDo: string;
}

export interface BoardLogic {
  readonly netlist: Netlist;
  /** Inputs that the connector brings in, in the order of its pins: the first of `netlist.inputs`. */
  readonly lines: readonly string[];
  /**
   * Nets nobody knows the level of: the rest of `netlist.inputs`, to be held unknown. Empty when the whole
   * board is modelled; else every result is partial.
   */
  readonly unknownNets: readonly string[];
  readonly problems: readonly BoardLogicProblem[];
}

type Stage = Board["stages"][string];
type NamedStage = readonly [name: string, stage: Stage];

/**
 * The logic of a board.
 *
 * @param board read and valid by its schema; its names need not agree
 * @param observed nets that are read from outside; all stage outputs when left out. A net that is not on the
 *   board is a problem and left out
 * @returns a netlist that compiles whatever the board; a gate is named as its stage. Sections that share a
 *   plate drive nets of their own, `V1a.Q` and `V1b.Q`, joined by an `and` named `Q.plate`
 */
export function boardLogic(board: Board, observed?: readonly string[]): BoardLogic {
  const stages = Object.entries(board.stages);
  const driving = driversOf(stages);
  const problems: BoardLogicProblem[] = [];
  const unknown = new Set<string>();
  for (const [net, drivers] of driving) {
    const found = [...drivers.flatMap(stageProblems), ...shorted(net, drivers)];
    problems.push(...found);
    if (found.length > 0) unknown.add(net);
  }
  const onConnector = new Set(Object.values(board.connector));
  const taken = new Set(stages.flatMap(([, { inputs }]) => inputs));
  const lines = [...onConnector].filter((name) => taken.has(name) && !driving.has(name));
  for (const net of taken) {
    if (driving.has(net) || onConnector.has(net)) continue;
    problems.push(floating(net, stages));
    unknown.add(net);
  }
  const nets = new Set([...lines, ...driving.keys(), ...unknown]);
  const outputs = observed ?? [...driving.keys()];
  problems.push(...outputs.filter((net) => !nets.has(net)).map(noSuchOutput));
  return {
    netlist: {
      name: board.board,
      inputs: [...lines, ...unknown],
      outputs: outputs.filter((net) => nets.has(net)),
      gates: [...driving].flatMap(([net, drivers]) =>
        unknown.has(net) ? [] : gatesOf(net, drivers),
      ),
      flipFlops: [],
    },
    lines,
    unknownNets: [...unknown],
    problems,
  };
}

/** Stages of each net, in file order. */
function driversOf(stages: readonly NamedStage[]): Map<string, NamedStage[]> {
  const drivers = new Map<string, NamedStage[]>();
  for (const stage of stages) {
    const { output } = stage[1];
    drivers.set(output, [...(drivers.get(output) ?? []), stage]);
  }
  return drivers;
}

function gatesOf(net: string, drivers: readonly NamedStage[]): Gate[] {
  const gates = drivers.map(([name, { type, inputs, slow }]): Gate => {
    const gate = { name, type: gateTypeFor(type) ?? "buf", inputs, output: net };
    return slow ? { ...gate, slow } : gate;
  });
  if (gates.length === 1) return gates;
  // A point in the name keeps these apart from every net and stage of a file, whose names have none.
  const own = gates.map((gate) => ({ ...gate, output: `${gate.name}.${net}` }));
  const inputs = own.map(({ output }) => output);
  return [...own, { name: `${net}.plate`, type: "and", inputs, output: net }];
}

/** Own keys alone: a stage may be called `constructor`. */
function gateTypeFor(type: string): GateType | undefined {
  return Object.hasOwn(GATE_OF, type) ? GATE_OF[type] : undefined;
}

function stageProblems([name, { type, inputs, output }]: NamedStage): BoardLogicProblem[] {
  const gate = gateTypeFor(type);
  const at = { net: output, stages: [name] };
  if (gate === undefined) {
    return [
      {
        kind: "unknown stage",
        path: ["stages", name, "type"],
        ...at,
        reason: `the logic of ${type} is not known: its net ${output} is unknown to the model`,
        whatToDo: `name one of ${KNOWN_STAGE_TYPES.join(", ")}, or judge ${output} by hand-written expectations`,
      },
    ];
  }
  const single = gate === "not" || gate === "buf";
  if (single ? inputs.length === 1 : inputs.length > 0) return [];
  return [
    {
      kind: "wrong input count",
      path: ["stages", name, "inputs"],
      ...at,
      reason: `${name} is ${type} and takes ${inputs.length} inputs, ${single ? "one is" : "one or more are"} expected: its net ${output} is unknown to the model`,
      whatToDo: "mend the inputs, or name the kind of stage it is",
    },
  ];
}

/** Only tube sections share a plate, and where they do the file says so. */
function shorted(net: string, drivers: readonly NamedStage[]): BoardLogicProblem[] {
  const [first, second] = drivers;
  if (first === undefined || second === undefined) return [];
  const bare = drivers.find(([, { position }]) => position === undefined);
  const unsaid = drivers.slice(1).find(([, { sharesPlate }]) => sharesPlate !== true);
  if (bare === undefined && unsaid === undefined) return [];
  const names = drivers.map(([name]) => name);
  return [
    {
      kind: "shorted outputs",
      path: ["stages", (unsaid ?? second)[0], "output"],
      net,
      stages: names,
      reason: `${names.join(" and ")} drive ${net}${bare === undefined ? "" : `, and ${bare[0]} is no tube section whose plate could be shared`}: it is unknown to the model`,
      whatToDo:
        "give each its own net, or say `sharesPlate: true` where tube sections share a plate",
    },
  ];
}

function floating(net: string, stages: readonly NamedStage[]): BoardLogicProblem {
  const takers = stages.filter(([, { inputs }]) => inputs.includes(net));
  const [name = "", stage] = takers[0] ?? [];
  return {
    kind: "floating input",
    path: ["stages", name, "inputs", stage?.inputs.indexOf(net) ?? 0],
    net,
    stages: takers.map(([taker]) => taker),
    reason: `nothing drives ${net}, taken by ${takers.map(([taker]) => taker).join(", ")}: it is unknown to the model`,
    whatToDo: "add the stage that drives it, or put it on the connector",
  };
}

function noSuchOutput(net: string): BoardLogicProblem {
  return {
    kind: "no such output",
    path: [],
    net,
    stages: [],
    reason: `${net} is to be observed, and the board has no such net`,
    whatToDo: "name a stage's output or an input line",
  };
}
