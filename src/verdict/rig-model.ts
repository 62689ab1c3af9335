/**
 * What every channel of a rig reads in a state of its relays, with nothing on the connector but the
 * loop-back plug, for given faults. Contacts, dividers, loads and joints as resistors; no time in it.
 */
import type { RailName } from "../events/levels.ts";
import type { Plan, PlannedChannel, PlannedLine, PlannedRail } from "../events/plan.ts";
import type { RigState } from "../events/rig-check.ts";

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

const CODES = 1024;
const CODE_MAX = 1023;

/** A source of volts behind ohms, as conductance and current, so that several add up. */
interface Feed {
  siemens: number;
  amperes: number;
}

function feed(volts: number, ohm: number): Feed {
  return { siemens: 1 / ohm, amperes: volts / ohm };
}

function sum(feeds: readonly Feed[]): Feed {
  return feeds.reduce(
    (all, one) => ({
      siemens: all.siemens + one.siemens,
      amperes: all.amperes + one.amperes,
    }),
    // Wiring lets something through to common: a node on nothing at all is at no volts.
    { siemens: 1e-12, amperes: 0 },
  );
}

/** A closed contact with its wires. */
const CONTACT_OHM = 0.1;

export class RigModel {
  readonly #plan: Plan;
  readonly #supplies: SupplyVolts;
  readonly #channels: readonly PlannedChannel[];

  constructor(plan: Plan, supplies: SupplyVolts) {
    this.#plan = plan;
    this.#supplies = supplies;
    this.#channels = leadChannels(plan);
  }

  /** Mean code of every channel with a lead on rail, line or net. */
  codes(state: RigState, faults: readonly ModelFault[]): ReadonlyMap<string, number> {
    const leads = this.#leads(faults);
    const points = this.#pointVolts(state, faults, leads);
    const reference = faults.find((one) => one.kind === "reference");
    const factor = reference?.kind === "reference" ? reference.factor : 1;
    const pins = new Map<string, number>();
    for (const channel of this.#channels) {
      const point = leads.get(channel.name) ?? null;
      const gain = gainOf(channel.name, faults);
      pins.set(channel.name, pinShare(channel, point, points, { factor, gain }));
    }
    const codes = new Map<string, number>();
    for (const { name } of this.#channels) {
      codes.set(name, Math.min(CODE_MAX, Math.max(0, CODES * seen(name, pins, faults))));
    }
    return codes;
  }

  /** Where each channel's lead is clipped: the home of which channel; missing when it is off. */
  #leads(faults: readonly ModelFault[]): Map<string, string> {
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
    leads: ReadonlyMap<string, string>,
  ): ReadonlyMap<string, number> {
    const volts = new Map<string, number>();
    const clipped = new Map<string, PlannedChannel[]>();
    for (const channel of this.#channels) {
      const point = leads.get(channel.name);
      if (point !== undefined) clipped.set(point, [...(clipped.get(point) ?? []), channel]);
    }
    const loading = (point: string): Feed[] => (clipped.get(point) ?? []).map(dividerFeed);
    for (const rail of this.#plan.rails) {
      const supplyV = this.#supplyV(rail, faults);
      volts.set(rail.sourceChannel, supplyV);
      const isClosed = isOperated(rail.rail, state.rails.includes(rail.rail), faults);
      const leak = leakOf(rail.rail, faults);
      const ohm = isClosed ? CONTACT_OHM : leak;
      const all = sum([
        ...loading(rail.boardChannel),
        ...(ohm === null ? [] : [feed(supplyV, ohm)]),
      ]);
      volts.set(rail.boardChannel, all.amperes / all.siemens);
    }
    for (const line of this.#plan.lines) {
      if (line.drive === "changeover") this.#solveLine(line, { state, faults, loading, volts });
    }
    this.#solveLooseNets({ state, faults, loading, volts });
    return volts;
  }

  /** A line, and the nets that the plug joins to it: a star of resistors. */
  #solveLine(line: PlannedLine, solving: Solving): void {
    const { state, faults, loading, volts } = solving;
    const { releasedLevel, source } = line;
    if (source === null || releasedLevel === null) return;
    const moved = isOperated(line.line, state.operated.includes(line.line), faults);
    const level = moved === (releasedLevel === "low") ? "high" : "low";
    const from = source[level];
    const share = from.from === undefined ? 1 : this.#share(from.from, volts);
    const joints = (this.#plan.loopback ?? [])
      .filter((joint) => joint.line === line.line)
      .map(({ net, ohm }) => ({
        net,
        ohm: Math.max(ohm, CONTACT_OHM),
        own: sum([...loading(net), ...this.#loads(net, solving)]),
      }));
    const through = joints.map(({ ohm, own }): Feed => {
      const siemens = 1 / (ohm + 1 / own.siemens);
      return { siemens, amperes: (own.amperes / own.siemens) * siemens };
    });
    const all = sum([feed(from.volts * share, from.ohm), ...loading(line.line), ...through]);
    const lineV = all.amperes / all.siemens;
    volts.set(line.line, lineV);
    for (const { net, ohm, own } of joints) {
      const fed = sum([own, feed(lineV, ohm)]);
      volts.set(net, fed.amperes / fed.siemens);
    }
  }

  #solveLooseNets(solving: Solving): void {
    for (const { name, reads } of this.#channels) {
      if (reads.kind !== "net" || solving.volts.has(name)) continue;
      const all = sum([...solving.loading(name), ...this.#loads(name, solving)]);
      solving.volts.set(name, all.amperes / all.siemens);
    }
  }

  #loads(net: string, { state, faults, volts }: Solving): Feed[] {
    return this.#plan.lines.flatMap(({ line, load }): Feed[] => {
      if (load === undefined || load.net !== net) return [];
      const toV = load.to === "common" ? 0 : (volts.get(`${load.to}.board`) ?? 0);
      if (isOperated(line, state.operated.includes(line), faults)) return [feed(toV, load.ohm)];
      const leak = leakOf(line, faults);
      return leak === null ? [] : [feed(toV, leak)];
    });
  }

  /** Part of its nominal volts that a rail has on the board side. */
  #share(name: RailName, volts: ReadonlyMap<string, number>): number {
    const rail = this.#plan.rails.find((one) => one.rail === name);
    return rail === undefined ? 0 : (volts.get(rail.boardChannel) ?? 0) / rail.nominalV;
  }

  #supplyV({ rail, nominalV }: PlannedRail, faults: readonly ModelFault[]): number {
    const isMissing = faults.some((one) => one.kind === "no supply" && one.rail === rail);
    return isMissing ? 0 : (this.#supplies.get(rail) ?? nominalV);
  }
}

interface Solving {
  readonly state: RigState;
  readonly faults: readonly ModelFault[];
  readonly loading: (point: string) => Feed[];
  readonly volts: Map<string, number>;
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

/** What a divider does to the point it is clipped to. */
function dividerFeed({ divider, referenceV }: PlannedChannel): Feed {
  const { bottomOhm, pullUpOhm, topOhm } = divider;
  const pullUp = pullUpOhm === null ? 0 : 1 / pullUpOhm;
  const openV = (referenceV * pullUp) / (pullUp + 1 / bottomOhm);
  return feed(openV, topOhm + 1 / (pullUp + 1 / bottomOhm));
}

/** Volts at the pin as a part of the reference; with the lead off, what the divider itself gives. */
function pinShare(
  { divider, referenceV, calibration }: PlannedChannel,
  point: string | null,
  points: ReadonlyMap<string, number>,
  { factor, gain }: { readonly factor: number; readonly gain: number },
): number {
  const { bottomOhm, pullUpOhm, topOhm } = divider;
  const top = point === null ? 0 : 1 / topOhm;
  const pullUp = pullUpOhm === null ? 0 : 1 / pullUpOhm;
  const trueV = point === null ? 0 : (points.get(point) ?? 0);
  const nodeV =
    calibration === undefined ? trueV : (trueV - calibration.offsetV) / calibration.gain;
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
