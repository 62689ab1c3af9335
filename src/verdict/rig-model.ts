/**
 * What every channel of a rig reads in a state of its relays, with nothing on the connector but the
 * loop-back plug, for given faults. Contacts, sources, dividers, loads and joints are resistors between
 * points, solved together; there is no time in it.
 */
import type { RailName } from "../events/levels.ts";
import type { Plan, PlannedChannel, PlannedLine, PlannedRail } from "../events/plan.ts";
import type { RigState } from "../events/rig-check.ts";
import { CODE_MAX, CODES } from "../measure/divider.ts";
import { ResistorNet } from "./resistor-net.ts";

/** One thing wrong in the model. Channels are told by name; a lead's home is its channel's name. */
export type ModelFault =
  | { readonly kind: "contact"; readonly name: string; readonly stays: "operated" | "released" }
  | { readonly kind: "leak"; readonly name: string; readonly ohm: number }
  | { readonly kind: "swap"; readonly one: string; readonly other: string }
  | { readonly kind: "open lead"; readonly channel: string }
  | { readonly kind: "stuck"; readonly channel: string; readonly to: string }
  | {
      readonly kind: "crosstalk";
      readonly channel: string;
      readonly from: string;
      readonly share: number;
    }
  | { readonly kind: "gain"; readonly channel: string; readonly factor: number }
  | { readonly kind: "reference"; readonly factor: number }
  | { readonly kind: "no supply"; readonly rail: RailName };

/** Volts of each supply, signed. */
export type SupplyVolts = ReadonlyMap<RailName, number>;

/** A closed contact with its wires, and a joint of the plug. */
const CONTACT_OHM = 0.1;

type Leads = ReadonlyMap<string, string>;

export class RigModel {
  readonly #plan: Plan;
  readonly #supplies: SupplyVolts;
  readonly #channels: readonly PlannedChannel[];
  readonly #points: readonly string[];

  constructor(plan: Plan, supplies: SupplyVolts) {
    this.#plan = plan;
    this.#supplies = supplies;
    this.#channels = leadChannels(plan);
    // A supply before its relay stays at its volts whatever hangs on it: no point to be solved.
    this.#points = this.#channels
      .filter(({ reads }) => reads.kind !== "rail" || reads.at === "board")
      .map(({ name }) => name);
  }

  /** Code of every channel with a lead on rail, line or net; fractions are those of the volts. */
  codes(state: RigState, faults: readonly ModelFault[]): ReadonlyMap<string, number> {
    const leads = this.#leads(faults);
    const volts = this.#pointVolts(state, faults, leads);
    const factor = referencePart(faults);
    const pins = new Map<string, number>();
    for (const channel of this.#channels) {
      const point = leads.get(channel.name);
      const nodeV = point === undefined ? null : (volts.get(point) ?? 0);
      const gain = gainOf(channel.name, faults);
      pins.set(channel.name, pinShare(channel, nodeV, { factor, gain }));
    }
    const codes = new Map<string, number>();
    for (const { name } of this.#channels) {
      codes.set(name, Math.min(CODE_MAX, Math.max(0, CODES * seen(name, pins, faults))));
    }
    return codes;
  }

  /** Where each channel's lead is clipped: the home of which channel; missing when it is off. */
  #leads(faults: readonly ModelFault[]): Leads {
    const leads = new Map(this.#channels.map(({ name }) => [name, name]));
    for (const fault of faults) {
      if (fault.kind === "swap") {
        const [one, other] = [leads.get(fault.one), leads.get(fault.other)];
        if (other !== undefined) leads.set(fault.one, other);
        if (one !== undefined) leads.set(fault.other, one);
      }
      if (fault.kind === "open lead") leads.delete(fault.channel);
    }
    return leads;
  }

  #pointVolts(
    state: RigState,
    faults: readonly ModelFault[],
    leads: Leads,
  ): ReadonlyMap<string, number> {
    const net = new ResistorNet(this.#points);
    for (const channel of this.#channels) {
      const point = leads.get(channel.name);
      if (point !== undefined) hangDivider(net, channel, point, referencePart(faults));
    }
    const volts = new Map<string, number>();
    for (const rail of this.#plan.rails) {
      const supplyV = this.#supplyV(rail, faults);
      volts.set(rail.sourceChannel, supplyV);
      const isClosed = isOperated(rail.rail, state.rails.includes(rail.rail), faults);
      const ohm = isClosed ? CONTACT_OHM : leakOf(rail.rail, faults);
      if (ohm !== null) net.feed(rail.boardChannel, supplyV, ohm);
    }
    for (const line of this.#plan.lines) this.#addLine(net, line, state, faults);
    for (const joint of this.#plan.loopback ?? []) {
      net.join(joint.line, joint.net, joint.ohm + CONTACT_OHM);
    }
    for (const [point, found] of net.solve()) volts.set(point, found);
    return volts;
  }

  #addLine(
    net: ResistorNet,
    line: PlannedLine,
    state: RigState,
    faults: readonly ModelFault[],
  ): void {
    const moved = isOperated(line.line, state.operated.includes(line.line), faults);
    if (line.load !== undefined) {
      const ohm = moved ? line.load.ohm : leakOf(line.line, faults);
      if (ohm === null) return;
      if (line.load.to === "common") net.feed(line.load.net, 0, ohm);
      else net.join(line.load.net, `${line.load.to}.board`, ohm);
    } else if (line.source !== null && line.releasedLevel !== null) {
      const level = moved === (line.releasedLevel === "low") ? "high" : "low";
      for (const which of ["low", "high"] as const) {
        this.#addSource(net, line, which, which === level);
      }
    }
  }

  /** A source taken from a rail is two resistors between it and common, connected or not. */
  #addSource(net: ResistorNet, line: PlannedLine, which: "low" | "high", closed: boolean): void {
    const source = line.source?.[which];
    if (source === undefined) return;
    const { volts, ohm, from } = source;
    const rail = this.#plan.rails.find((one) => one.rail === from);
    if (rail === undefined) {
      if (closed) net.feed(line.line, volts, ohm);
      return;
    }
    const share = volts / rail.nominalV;
    const topOhm = ohm / share;
    const bottomOhm = share < 1 ? ohm / (1 - share) : Number.POSITIVE_INFINITY;
    if (!closed) net.feed(rail.boardChannel, 0, topOhm + bottomOhm);
    else {
      net.join(line.line, rail.boardChannel, topOhm);
      net.feed(line.line, 0, bottomOhm);
    }
  }

  #supplyV({ rail, nominalV }: PlannedRail, faults: readonly ModelFault[]): number {
    const isMissing = faults.some((one) => one.kind === "no supply" && one.rail === rail);
    return isMissing ? 0 : (this.#supplies.get(rail) ?? nominalV);
  }
}

/** Channels whose leads go to a rail, a line or a net. */
export function leadChannels({ channels }: Plan): PlannedChannel[] {
  return channels.filter(({ reads }) => ["rail", "line", "net"].includes(reads.kind));
}

function isOperated(name: string, asked: boolean, faults: readonly ModelFault[]): boolean {
  const stuck = faults.find((one) => one.kind === "contact" && one.name === name);
  return stuck?.kind === "contact" ? stuck.stays === "operated" : asked;
}

function leakOf(name: string, faults: readonly ModelFault[]): number | null {
  const leak = faults.find((one) => one.kind === "leak" && one.name === name);
  return leak?.kind === "leak" ? leak.ohm : null;
}

function gainOf(channel: string, faults: readonly ModelFault[]): number {
  const gain = faults.find((one) => one.kind === "gain" && one.channel === channel);
  return gain?.kind === "gain" ? gain.factor : 1;
}

/** The converter's reference as a multiple of what the rig file says. */
function referencePart(faults: readonly ModelFault[]): number {
  const reference = faults.findLast((one) => one.kind === "reference");
  return reference?.kind === "reference" ? reference.factor : 1;
}

/** What a divider does to the point it is clipped to. */
function hangDivider(
  net: ResistorNet,
  { divider, referenceV }: PlannedChannel,
  point: string,
  factor: number,
): void {
  const { bottomOhm, pullUpOhm, topOhm } = divider;
  const pullUp = pullUpOhm === null ? 0 : 1 / pullUpOhm;
  const openV = (factor * referenceV * pullUp) / (pullUp + 1 / bottomOhm);
  net.feed(point, openV, topOhm + 1 / (pullUp + 1 / bottomOhm));
}

/** Volts at the pin as a part of the reference; with the lead off, what the divider itself gives. */
function pinShare(
  { divider, referenceV, calibration }: PlannedChannel,
  trueV: number | null,
  { factor, gain }: { readonly factor: number; readonly gain: number },
): number {
  const { bottomOhm, pullUpOhm, topOhm } = divider;
  const top = trueV === null ? 0 : 1 / topOhm;
  const pullUp = pullUpOhm === null ? 0 : 1 / pullUpOhm;
  const offsetV = calibration?.offsetV ?? 0;
  const nodeV = ((trueV ?? 0) - offsetV) / (calibration?.gain ?? 1);
  const all = top + 1 / bottomOhm + pullUp;
  return (gain * nodeV * top) / (referenceV * factor * all) + pullUp / all;
}

function seen(
  channel: string,
  pins: ReadonlyMap<string, number>,
  faults: readonly ModelFault[],
): number {
  const stuck = faults.find((one) => one.kind === "stuck" && one.channel === channel);
  const own = pins.get(stuck?.kind === "stuck" ? stuck.to : channel) ?? 0;
  const across = faults.find((one) => one.kind === "crosstalk" && one.channel === channel);
  if (across?.kind !== "crosstalk") return own;
  return own + across.share * (pins.get(across.from) ?? 0);
}
