/**
 * Faults of one stage's parts as lines stuck or nets tied, by how a direct-coupled triode stage works: a section
 * that conducts pulls its plate low, one that is cut off leaves it to the plate load; diodes OR the inputs into a
 * node, a coupling resistor leads from there to the grid and the grid return pulls it to bias (common practice).
 *
 * A stage that does not invert is taken as a follower, high while it conducts.
 */
import type { Board } from "../../../formats/board.schema.ts";
import type { Circuit } from "../../netlist/circuit.ts";
import { CONTROLLING, INVERTING } from "../collapse.ts";
import type { Fault } from "../fault.ts";
import type { LogicalEffect, PartFault, PartFaultKind } from "./part-fault.ts";
import { pull, tieNets } from "./tied-nets.ts";

type Stage = Board["stages"][string];

export interface StagePlace {
  readonly circuit: Circuit;
  readonly name: string;
  readonly stage: Stage;
  /** Gate of the stage. */
  readonly gate: number;
  /** Lines driven from outside by contacts, which no plate moves. */
  readonly lines: ReadonlySet<string>;
}

const WEAKER = "a section that is only weak, or slow to warm: levels and warm-up time tell it";
const CUT_OFF = "the level of a plate that is cut off and stands a little high";

/** Every fault of the parts of one stage. */
export function stageFaults(place: StagePlace): PartFault[] {
  const { stage } = place;
  const tube = stage.position !== undefined;
  return [
    ...(tube ? sectionFaults(place) : []),
    ...loadFaults(place),
    ...(tube ? gridFaults(place) : []),
    ...stage.inputs.flatMap((net) => inputFaults(place, net)),
  ];
}

/** The stage's own net stuck: with a shared plate this section's part of it. */
export function outputStuck({ circuit, gate }: StagePlace, stuckAt: 0 | 1): Fault {
  return { net: circuit.gateOutput[gate] ?? -1, site: { kind: "stem" }, stuckAt };
}

/** Level the stage's net has while its section is cut off. */
export function cutOffLevel({ circuit, gate }: StagePlace): 0 | 1 {
  const type = circuit.netlist.gates[gate]?.type ?? "buf";
  return INVERTING.has(type) ? 1 : 0;
}

function stuck(...faults: Fault[]): LogicalEffect {
  return { kind: "stuck", faults };
}

function made(
  place: StagePlace,
  kind: PartFaultKind,
  part: string,
  says: { readonly text: string; readonly effect: LogicalEffect; readonly unseen: string },
): PartFault {
  return { kind, part, position: place.name, ...says };
}

function word(level: 0 | 1): string {
  return level === 1 ? "high" : "low";
}

function sectionFaults(place: StagePlace): PartFault[] {
  const { name, stage } = place;
  const sections = [stage.parts?.section ?? name].flat();
  const cutOff = cutOffLevel(place);
  const conducts = (1 - cutOff) as 0 | 1;
  const { output } = stage;
  return sections.flatMap((section, index): PartFault[] => [
    made(place, "no emission", section, {
      text: `${section} without emission: ${sections.length === 1 ? `${output} stays ${word(cutOff)}` : `${name} does not see ${stage.inputs[index] ?? "an input"}`}`,
      effect: noEmission(place, sections.length, index),
      unseen: WEAKER,
    }),
    made(place, "section conducting", section, {
      text: `${section} conducts always (grid open or at its cathode): ${output} stays ${word(conducts)}`,
      effect: stuck(outputStuck(place, conducts)),
      // Common practice: a grid left open drifts towards conduction.
      unseen: "an open grid that drifts, and now and then cuts the section off",
    }),
  ]);
}

/** Sections of one plate take an input each, in order, so one that is dead does not see its own. */
function noEmission(place: StagePlace, count: number, index: number): LogicalEffect {
  const { stage, name } = place;
  if (count === 1) return stuck(outputStuck(place, cutOffLevel(place)));
  if (count !== stage.inputs.length)
    return {
      kind: "not modelled",
      reason: `${name} has ${count} sections and ${stage.inputs.length} inputs: which section takes which is not in the file`,
    };
  return stuck(...pinsStuck(place, stage.inputs[index] ?? "", 0));
}

function loadFaults(place: StagePlace): PartFault[] {
  const { name, stage, circuit } = place;
  const tube = stage.position !== undefined;
  const part = stage.parts?.load;
  // A gate without a tube has a load only where the file says so.
  if (part === undefined && !tube) return [];
  const said = part ?? `plate load of ${name}`;
  const type = circuit.netlist.gates[place.gate]?.type ?? "buf";
  const pullsUp = tube ? INVERTING.has(type) : type === "and";
  const plate = circuit.netOf.get(stage.output) ?? -1;
  const effect: LogicalEffect = pullsUp
    ? stuck({ net: plate, site: { kind: "stem" }, stuckAt: 0 })
    : {
        kind: "not modelled",
        reason: `without ${said} ${stage.output} is pulled down by what takes from it alone, or not at all`,
      };
  const text = pullsUp
    ? `${said} open: ${stage.output} stays low`
    : `${said} open: nothing of its own pulls ${stage.output} down`;
  const unseen = "a load of the wrong value: levels tell it";
  return [made(place, "plate load open", said, { text, effect, unseen })];
}

function gridFaults(place: StagePlace): PartFault[] {
  const { name, stage } = place;
  const { coupling, gridReturn } = stage.parts ?? {};
  const cutOff = cutOffLevel(place);
  const conducts = (1 - cutOff) as 0 | 1;
  const found: PartFault[] = [];
  if (coupling !== undefined) {
    found.push(
      made(place, "coupling open", coupling, {
        text: `${coupling} open: the grid of ${name} stays at bias and ${stage.output} ${word(cutOff)}`,
        effect: stuck(outputStuck(place, cutOff)),
        unseen: CUT_OFF,
      }),
    );
  }
  if (gridReturn !== undefined) {
    found.push(
      made(place, "grid return open", gridReturn, {
        text: `${gridReturn} open: nothing pulls the grid of ${name} to bias and ${stage.output} stays ${word(conducts)}`,
        effect: stuck(outputStuck(place, conducts)),
        unseen: "inputs so low that they cut the section off without bias",
      }),
    );
  }
  return found;
}

function inputFaults(place: StagePlace, net: string): PartFault[] {
  const { name, stage, circuit } = place;
  const type = circuit.netlist.gates[place.gate]?.type ?? "buf";
  const part = stage.parts?.inputs?.[net] ?? `input ${net} of ${name}`;
  const joins = stage.inputs.length > 1;
  // Without a second input there is no gate to stay passive in: the grid is left to bias.
  const controlling = joins ? CONTROLLING[type] : 1;
  if (controlling === null) {
    const reason = `how ${name}, ${type}, takes its inputs is not in the board file`;
    const text = `${part} open: ${name} does not see ${net}`;
    const effect: LogicalEffect = { kind: "not modelled", reason };
    return [made(place, "input open", part, { text, effect, unseen: "" })];
  }
  const passive = (1 - controlling) as 0 | 1;
  const kind = feedsBack(place, net) ? "feedback open" : "input open";
  const open = made(place, kind, part, {
    text: `${part} open: ${name} does not see ${net} go ${word(controlling)}`,
    effect: stuck(...pinsStuck(place, net, passive)),
    unseen: "a joint that opens only now and then",
  });
  return joins && throughDiodes(stage)
    ? [open, inputShorted(place, net, part, controlling)]
    : [open];
}

/** Inputs of a stage come through diodes where they join at all, but for wired gates, where plates are joined. */
function throughDiodes({ type }: Stage): boolean {
  return !type.startsWith("wired");
}

/** A shorted diode ties the stage's node to its input net, and so what comes through the other diodes to that net. */
function inputShorted(place: StagePlace, net: string, part: string, controlling: 0 | 1): PartFault {
  const { name, stage, circuit, lines } = place;
  const others = [...new Set(stage.inputs)].filter((other) => other !== net);
  // Diodes that OR pass a high other into the node; those that AND pass a low one.
  const ties = others.flatMap((other) =>
    pull(controlling === 1 ? { high: other, low: net } : { high: net, low: other }, lines, "found"),
  );
  return made(place, "input shorted", part, {
    text: `${part} shorted: ${net} is tied to what else ${name} takes, ${others.join(", ")}`,
    effect: { kind: "tied", ...tieNets(circuit.netlist, ties) },
    unseen: "what a driven line makes of it, and the current between the nets",
  });
}

/** Pins of the stage's gate that take a net, stuck. */
function pinsStuck({ circuit, gate }: StagePlace, net: string, stuckAt: 0 | 1): Fault[] {
  const number = circuit.netOf.get(net) ?? -1;
  const inputs = circuit.netlist.gates[gate]?.inputs ?? [];
  return [...inputs.keys()]
    .filter((pin) => inputs[pin] === net)
    .map((pin) => ({ net: number, site: { kind: "gate pin", gate, pin }, stuckAt }));
}

function feedsBack({ circuit, gate }: StagePlace, net: string): boolean {
  const driver = circuit.driver[circuit.netOf.get(net) ?? -1] ?? -1;
  return circuit.loops.some((group) => group.includes(driver) && group.includes(gate));
}
