/**
 * Every position of every kind of fault a board and its rig can have, each as a change of a part's
 * value and nothing else, with the nets a proof may name first: the faulted stage's output or what
 * it drives directly.
 */
import type { Circuit, PartOf } from "../../formats/circuit.schema.ts";
import type { Rig, RigOutput } from "../../formats/rig.schema.ts";
import type { PartChange } from "../fixture.ts";
import { fanOut, type WiredStage, wiredStages } from "./stage-wiring.ts";

type FaultKind =
  | "dead section"
  | "weak section"
  | "open heater"
  | "open input diode"
  | "shorted input diode"
  | "open plate load"
  | "bias lost"
  | "feedback open"
  | "line contact welded"
  | "slow warm-up"
  | "exchanged leads"
  | "supply set too high";

export interface FaultPosition {
  readonly kind: FaultKind;
  /** Part or parts at fault, for people. */
  readonly position: string;
  readonly changes: readonly PartChange[];
  /** Net, line or rail channel at the fault itself. */
  readonly faultedNet: string;
  /** What may be named first. */
  readonly acceptableNets: readonly string[];
}

/** Emission at which a healthy low of 12 V rises above VOL and stays below VIL. */
const WEAK_EMISSION = 0.55;
/** Factor on a cathode's lag that puts it beyond any time-out of the shipped sequences. */
const SLOW_SCALE = 8;
const OPEN_OHM = 1e9;
/** Beyond the window of the shipped boards, below every ceiling. */
const TOO_HIGH = 1.1;
/** When a supply that was good is lost: warm-up is over and steps are running. */
const BIAS_LOST_MS = 30_000;

/** All faults of a circuit on its rig. */
export function faultPositions(circuit: Circuit, rig: Rig): FaultPosition[] {
  const stages = wiredStages(circuit);
  return [
    ...stages.flatMap((stage) => sectionFaults(stage, stages)),
    ...stages.flatMap((stage) => diodeFaults(stage, stages)),
    ...heaterFaults(circuit, rig, stages),
    ...biasFaults(rig),
    ...rig.outputs.flatMap((output) => contactFaults(output, stages)),
    ...exchangedLeads(rig),
    ...rig.outputs.flatMap(supplyFault),
  ];
}

function change(part: string, parameter: string, value: number): PartChange {
  return { part, parameter, value, atMs: null };
}

function sectionFaults(stage: WiredStage, stages: readonly WiredStage[]): FaultPosition[] {
  const { triode, plateLoad, output } = stage;
  const nets = { faultedNet: output, acceptableNets: [output, ...fanOut(stages, output)] };
  const fault = (kind: FaultKind, one: PartChange): FaultPosition => ({
    kind,
    position: one.part,
    changes: [one],
    ...nets,
  });
  return [
    fault("dead section", change(triode.part, "emission", 0)),
    fault("weak section", change(triode.part, "emission", WEAK_EMISSION)),
    fault("slow warm-up", change(triode.part, "warmUpScale", SLOW_SCALE)),
    fault("open plate load", change(plateLoad.part, "ohm", OPEN_OHM)),
  ];
}

/**
 * An open diode is seen where its input alone must act. A shorted one ties the stage's inputs to each
 * other: each of them is a net at the fault, so each, and what it drives, may be named.
 */
function diodeFaults(stage: WiredStage, stages: readonly WiredStage[]): FaultPosition[] {
  const { output, sources } = stage;
  return stage.diodes.flatMap((diode): FaultPosition[] => {
    const position = `${diode.part} (${diode.anode} into ${stage.triode.part})`;
    const own = [output, ...fanOut(stages, output)];
    const tied = sources.flatMap((source) => [source, ...fanOut(stages, source)]);
    return [
      {
        kind: diode.use === "feedback" ? "feedback open" : "open input diode",
        position,
        changes: [change(diode.part, "open", 1)],
        faultedNet: output,
        acceptableNets: own,
      },
      {
        kind: "shorted input diode",
        position,
        changes: [change(diode.part, "shorted", 1)],
        faultedNet: diode.anode,
        acceptableNets: [...new Set([...tied, ...own])],
      },
    ];
  });
}

/**
 * An open heater darkens whatever stands in its string, and no section beside it. A shunt that reads
 * the heaters may see it before a cold section is waited for.
 */
function heaterFaults(circuit: Circuit, rig: Rig, stages: readonly WiredStage[]): FaultPosition[] {
  const heaters = circuit.parts.filter((part) => part.kind === "heater");
  const current = rig.shunts?.some(({ rail }) => rail === "heater") ? ["heater.current"] : [];
  return heaters.map((open) => {
    const dark = heaters
      .filter((one) => one === open || !isLit(one, heaters, open))
      .map(({ part }) => part);
    const outputs = stages
      .filter(({ triode }) => dark.includes(triode.heater))
      .map(({ output }) => output);
    const driven = outputs.flatMap((output) => fanOut(stages, output));
    return {
      kind: "open heater",
      position: open.part,
      changes: [change(open.part, "open", 1)],
      faultedNet: stages.find(({ triode }) => triode.heater === open.part)?.output ?? "",
      acceptableNets: [...new Set([...outputs, ...driven, ...current])],
    };
  });
}

/** Whether current still comes to one end of a heater and leaves by the other. */
function isLit(
  heater: PartOf<"heater">,
  heaters: readonly PartOf<"heater">[],
  open: PartOf<"heater">,
): boolean {
  const others = heaters.filter((one) => one !== heater && one !== open);
  const fed = joinedTo("heater", others);
  const returned = joinedTo("common", others);
  const { from, to } = heater;
  return (fed.has(from) && returned.has(to)) || (fed.has(to) && returned.has(from));
}

/** Nodes that heaters join to this one. */
function joinedTo(node: string, heaters: readonly PartOf<"heater">[]): Set<string> {
  const joined = new Set([node]);
  for (let before = 0; before < joined.size; ) {
    before = joined.size;
    for (const { from, to } of heaters) {
      if (joined.has(from)) joined.add(to);
      else if (joined.has(to)) joined.add(from);
    }
  }
  return joined;
}

function biasFaults(rig: Rig): FaultPosition[] {
  if (!rig.outputs.some((output) => output.drive === "relay" && output.rail === "bias")) return [];
  const nets = { faultedNet: "bias.board", acceptableNets: ["bias.board", "bias.source", "bias"] };
  const fault = (position: string, one: PartChange): FaultPosition => ({
    kind: "bias lost",
    position,
    changes: [one],
    ...nets,
  });
  return [
    fault("supply never on", change("supply.bias", "volts", 0)),
    fault("relay never closes", change("relay.bias", "welded", 2)),
    fault("supply fails", { ...change("supply.bias", "volts", 0), atMs: BIAS_LOST_MS }),
    fault("relay opens", { ...change("relay.bias", "welded", 2), atMs: BIAS_LOST_MS }),
  ];
}

function contactFaults(output: RigOutput, stages: readonly WiredStage[]): FaultPosition[] {
  if (output.drive !== "changeover") return [];
  const { line } = output;
  return (["operated", "released"] as const).map((place) => ({
    kind: "line contact welded",
    position: `${line} ${place}`,
    changes: [change(`relay.${line}`, "welded", place === "operated" ? 1 : 2)],
    faultedNet: line,
    acceptableNets: [line, ...fanOut(stages, line)],
  }));
}

/** Each pair of nets and lines, and each rail's pair of leads. */
function exchangedLeads(rig: Rig): FaultPosition[] {
  const leads = rig.channels.map((channel) => ({
    number: channel.channel,
    name:
      "rail" in channel
        ? `${channel.rail}.${channel.at}`
        : "net" in channel
          ? channel.net
          : channel.line,
    group: "rail" in channel ? channel.rail : "nets",
  }));
  return leads.flatMap((one, index) =>
    leads
      .slice(index + 1)
      .filter((other) => other.group === one.group)
      .map(
        (other): FaultPosition => ({
          kind: "exchanged leads",
          position: `${one.name} and ${other.name}`,
          changes: [change(`lead.${one.name}`, "exchangedWith", other.number)],
          faultedNet: one.name,
          acceptableNets: [one.name, other.name],
        }),
      ),
  );
}

function supplyFault(output: RigOutput): FaultPosition[] {
  if (output.drive !== "relay") return [];
  const { rail } = output;
  return [
    {
      kind: "supply set too high",
      position: `supply.${rail}`,
      changes: [change(`supply.${rail}`, "volts", output.sourceV * TOO_HIGH)],
      faultedNet: `${rail}.source`,
      acceptableNets: [`${rail}.source`, `${rail}.board`, rail],
    },
  ];
}
