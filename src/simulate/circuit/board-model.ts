/**
 * A board's parts as arrays that a solver can walk: nodes by number, values after spread, and the
 * places each part has in the node equations. Whoever holds the board may change values; the
 * structure stays.
 */
import type { Circuit, CircuitPart, PartOf } from "../../formats/circuit.schema.ts";
import {
  CATHODE_LAG_S,
  emissionShare,
  halfCurrentAt,
  heaterOhm,
  laterTemperature,
  WIRE_LAG_S,
} from "./cathode.ts";
import { spreadFactor } from "./seeded-random.ts";
import { SparseLu } from "./sparse-lu.ts";
import type { TriodeLaw } from "./triode-law.ts";
import { triodeLawOf } from "./tube-types.ts";

/** How far parts may differ from their marking, as fractions; even distribution. */
export interface Spread {
  readonly partsFraction: number;
  readonly tubesFraction: number;
}

/** As marked, but for a ten-thousandth: no two parts are the same, and a latch is never balanced. */
export const NO_SPREAD: Spread = { partsFraction: 1e-4, tubesFraction: 1e-4 };
/** Parts of 5 % and tubes as new ones differ. */
export const USUAL_SPREAD: Spread = { partsFraction: 0.05, tubesFraction: 0.15 };

/** A conductance with a source in it: current into `from` is siemens * (to + emfV - from). */
export interface Branch {
  readonly name: string;
  readonly from: number;
  readonly to: number;
  siemens: number;
  emfV: number;
}

export interface Capacitor {
  readonly name: string;
  readonly a: number;
  readonly b: number;
  farad: number;
}

export interface Diode {
  readonly name: string;
  readonly anode: number;
  readonly cathode: number;
  state: "sound" | "open" | "shorted";
}

export interface Heater {
  readonly name: string;
  readonly branch: Branch;
  readonly ratedW: number;
  hotOhm: number;
  open: boolean;
  /** Of the cathode around it. */
  lagS: number;
  cathode: number;
  /** Temperature of the wire itself, which sets its resistance. */
  wire: number;
}

export interface Triode {
  readonly name: string;
  readonly plate: number;
  readonly grid: number;
  readonly cathode: number;
  readonly law: TriodeLaw;
  readonly heater: Heater;
  /** What wear has left, 0..1, of the current at any temperature. */
  emission: number;
  /** Temperature at which the cathode gives half of it, by its activity. */
  halfAt: number;
  /** Emission times what the cathode's temperature gives. */
  current: number;
}

/** What hangs on the board from outside: leads, supplies, dividers, loads. */
export interface OutsideBranch {
  readonly name: string;
  readonly from: string;
  readonly to: string;
}

/** Every node has at least this to common: sockets and wiring. Farads. */
const STRAY_FARAD = 5e-12;

/** Ohms that stand for an open joint and for a short. */
export const OPEN_SIEMENS = 1e-12;

export class BoardModel {
  readonly nodeNames: readonly string[];
  /** Number of unknown nodes; this number itself stands for common. */
  readonly size: number;
  readonly lu: SparseLu;
  readonly branches: readonly Branch[];
  readonly capacitors: readonly Capacitor[];
  readonly diodes: readonly Diode[];
  readonly triodes: readonly Triode[];
  readonly heaters: readonly Heater[];
  readonly #nodes: ReadonlyMap<string, number>;
  readonly #branchByName: ReadonlyMap<string, Branch>;

  constructor(options: {
    readonly circuit: Circuit;
    readonly outside: readonly OutsideBranch[];
    readonly leads: readonly { readonly node: string; readonly farad: number }[];
    readonly seed: number;
    readonly spread: Spread;
  }) {
    const { circuit, outside, leads } = options;
    const nodes = numberNodes(circuit, outside);
    this.#nodes = nodes;
    this.nodeNames = [...nodes.keys()].filter((name) => name !== "common");
    this.size = this.nodeNames.length;
    const parts = new PartMaker(nodes, options.seed, options.spread);
    for (const part of circuit.parts) parts.add(part);
    for (const { name, from, to } of outside) {
      parts.branches.push({
        name,
        from: parts.node(from),
        to: parts.node(to),
        siemens: OPEN_SIEMENS,
        emfV: 0,
      });
    }
    for (const { node, farad } of leads) {
      parts.capacitors.push({ name: `lead ${node}`, a: parts.node(node), b: this.size, farad });
    }
    for (let node = 0; node < this.size; node += 1) {
      parts.capacitors.push({ name: `stray ${node}`, a: node, b: this.size, farad: STRAY_FARAD });
    }
    parts.joinHeaters(circuit);
    this.branches = parts.branches;
    this.capacitors = parts.capacitors;
    this.diodes = parts.diodes;
    this.triodes = parts.triodes;
    this.heaters = parts.heaters;
    this.#branchByName = new Map(this.branches.map((branch) => [branch.name, branch]));
    this.lu = new SparseLu(this.size, this.#places());
  }

  /** @throws RangeError when no part or branch touches a node of this name */
  node(name: string): number {
    const node = this.#nodes.get(name);
    if (node === undefined) throw new RangeError(`The circuit has no node "${name}".`);
    return node;
  }

  hasNode(name: string): boolean {
    return this.#nodes.has(name);
  }

  /** @throws RangeError when there is no branch of this name */
  branch(name: string): Branch {
    const branch = this.#branchByName.get(name);
    if (branch === undefined) throw new RangeError(`The circuit has no branch "${name}".`);
    return branch;
  }

  /** Let every cathode follow its heater for a while at the given node volts. */
  heat(volts: Float64Array, seconds: number): void {
    for (const heater of this.heaters) {
      const { branch } = heater;
      const acrossV = (volts[branch.from] as number) - (volts[branch.to] as number);
      const power = acrossV * acrossV * branch.siemens;
      const fraction = power / heater.ratedW;
      heater.cathode = laterTemperature(heater.cathode, fraction, heater.lagS, seconds);
      heater.wire = laterTemperature(heater.wire, fraction, WIRE_LAG_S, seconds);
      branch.siemens = heater.open ? OPEN_SIEMENS : 1 / heaterOhm(heater.hotOhm, heater.wire);
    }
    for (const triode of this.triodes) {
      triode.current = triode.emission * emissionShare(triode.heater.cathode, triode.halfAt);
    }
  }

  #places(): (readonly [number, number])[] {
    const pairs: [number, number][] = [];
    const meet = (...nodes: readonly number[]): void => {
      for (const one of nodes) for (const other of nodes) pairs.push([one, other]);
    };
    for (const { from, to } of this.branches) meet(from, to);
    for (const { a, b } of this.capacitors) meet(a, b);
    for (const { anode, cathode } of this.diodes) meet(anode, cathode);
    for (const { plate, grid, cathode } of this.triodes) meet(plate, grid, cathode);
    return pairs;
  }
}

class PartMaker {
  readonly branches: Branch[] = [];
  readonly capacitors: Capacitor[] = [];
  readonly diodes: Diode[] = [];
  readonly triodes: Triode[] = [];
  readonly heaters: Heater[] = [];
  readonly #nodes: ReadonlyMap<string, number>;
  readonly #seed: number;
  readonly #spread: Spread;

  constructor(nodes: ReadonlyMap<string, number>, seed: number, spread: Spread) {
    this.#nodes = nodes;
    this.#seed = seed;
    this.#spread = spread;
  }

  node(name: string): number {
    const node = this.#nodes.get(name);
    if (node === undefined) throw new RangeError(`The circuit has no node "${name}".`);
    return node;
  }

  add(part: CircuitPart): void {
    const name = part.part;
    if (part.kind === "resistor") {
      const siemens = 1 / (part.ohm * this.#partFactor(name));
      const [from, to] = [this.node(part.from), this.node(part.to)];
      this.branches.push({ name, from, to, siemens, emfV: 0 });
    } else if (part.kind === "capacitor") {
      const farad = part.farad * this.#partFactor(name);
      this.capacitors.push({ name, a: this.node(part.from), b: this.node(part.to), farad });
    } else if (part.kind === "diode") {
      const [anode, cathode] = [this.node(part.anode), this.node(part.cathode)];
      this.diodes.push({ name, anode, cathode, state: "sound" });
    } else if (part.kind === "heater") this.#addHeater(part);
  }

  /** Triodes last: each needs the heater that warms it. */
  joinHeaters(circuit: Circuit): void {
    for (const part of circuit.parts) {
      if (part.kind !== "triode") continue;
      const heater = this.heaters.find((one) => one.name === part.heater);
      if (heater === undefined) {
        throw new RangeError(
          `Expected a heater part "${part.heater}" for ${part.part}, found none. Correct the circuit file.`,
        );
      }
      const [plate, grid, cathode] = [part.plate, part.grid, part.cathode].map((name) =>
        this.node(name),
      ) as [number, number, number];
      const law = this.#spreadLaw(part);
      this.triodes.push({
        name: part.part,
        plate,
        grid,
        cathode,
        law,
        heater,
        emission: 1,
        halfAt: halfCurrentAt(1),
        current: 0,
      });
    }
  }

  #addHeater(part: PartOf<"heater">): void {
    const hotOhm = part.hotOhm * this.#partFactor(part.part);
    const branch: Branch = {
      name: part.part,
      from: this.node(part.from),
      to: this.node(part.to),
      siemens: 1 / heaterOhm(hotOhm, 0),
      emfV: 0,
    };
    this.branches.push(branch);
    const lagS = CATHODE_LAG_S * this.#tubeFactor(part.part, "lag", 0.5);
    const { ratedW } = part;
    this.heaters.push({
      name: part.part,
      branch,
      ratedW,
      hotOhm,
      open: false,
      lagS,
      cathode: 0,
      wire: 0,
    });
  }

  /** Current spreads by the whole fraction; the amplification is geometry and spreads by a third. */
  #spreadLaw(part: PartOf<"triode">): TriodeLaw {
    const law = triodeLawOf(part.tube);
    return {
      ...law,
      kg1: law.kg1 * this.#tubeFactor(part.part, "kg1", 1),
      mu: law.mu * this.#tubeFactor(part.part, "mu", 1 / 3),
      gridOhm: law.gridOhm * this.#tubeFactor(part.part, "grid", 1),
    };
  }

  #partFactor(name: string): number {
    return spreadFactor(this.#spread.partsFraction, { seed: this.#seed, name, purpose: "value" });
  }

  #tubeFactor(name: string, purpose: string, share: number): number {
    const fraction = this.#spread.tubesFraction * share;
    return spreadFactor(fraction, { seed: this.#seed, name, purpose });
  }
}

function nodesOf(part: CircuitPart): readonly string[] {
  if (part.kind === "triode") return [part.plate, part.grid, part.cathode];
  if (part.kind === "diode") return [part.anode, part.cathode];
  return [part.from, part.to];
}

function numberNodes(circuit: Circuit, outside: readonly OutsideBranch[]): Map<string, number> {
  const names = new Set<string>();
  for (const part of circuit.parts) for (const name of nodesOf(part)) names.add(name);
  for (const { from, to } of outside) names.add(from).add(to);
  names.delete("common");
  const nodes = new Map([...names].map((name, index) => [name, index] as const));
  nodes.set("common", names.size);
  return nodes;
}
