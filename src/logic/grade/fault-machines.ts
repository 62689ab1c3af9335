/**
 * Copies of a board, each with something wrong, taken through the stops of a sequence beside the board without
 * a fault. Lines stuck are lanes of one machine; nets tied are circuits of their own.
 */
import type { LineLevels } from "../../events/plan.ts";
import type { LogicalEffect } from "../faults/parts/part-fault.ts";
import { LANES_A_WORD } from "../lanes/lane-masks.ts";
import { Lanes } from "../lanes/lanes.ts";
import { type Circuit, compileCircuit } from "../netlist/circuit.ts";

/** A moment at which lines have been moved, the board has come to rest and nets are read. */
export interface GradeStop {
  /** As a person finds it in the file. */
  readonly label: string;
  /** Lines driven to come here, all at once. */
  readonly set: LineLevels;
  /** Nets that are read; those the circuit has not are passed over. */
  readonly reads: readonly string[];
  /** Edges of the clock after reading, for circuits with flip-flops. */
  readonly clocksAfter?: number;
}

export const UNKNOWN = 3;

export class FaultMachines {
  readonly circuit: Circuit;
  readonly #stuck: Lanes;
  readonly #tied: readonly { readonly index: number; readonly lanes: Lanes }[];
  /** Of each effect, its lane of the stuck ones, or -1. */
  readonly #laneOf: Int32Array;
  readonly #levels = new Map<number, number>();

  /** @param atRest levels of lines before the first stop; a line missing here is not known until it is driven */
  constructor(circuit: Circuit, effects: readonly LogicalEffect[], atRest: LineLevels) {
    this.circuit = circuit;
    this.#laneOf = new Int32Array(effects.length).fill(-1);
    const lanes = effects.flatMap((effect, index) => {
      if (effect.kind !== "stuck") return [];
      return [{ index, faults: effect.faults }];
    });
    for (const [lane, { index }] of lanes.entries()) this.#laneOf[index] = lane + 1;
    this.#stuck = new Lanes(
      circuit,
      lanes.map(({ faults }) => faults),
    );
    this.#tied = effects.flatMap((effect, index) =>
      effect.kind === "tied"
        ? [{ index, lanes: new Lanes(compileCircuit(effect.netlist), []) }]
        : [],
    );
    this.drive(atRest);
  }

  /** Move lines, and let every copy come to rest. */
  drive(set: LineLevels): void {
    const { inputs, netOf } = this.circuit;
    for (const [line, level] of Object.entries(set)) {
      const net = netOf.get(line);
      if (net !== undefined) this.#levels.set(net, level === "high" ? 2 : 1);
    }
    const values = Array.from(inputs, (net) => this.#levels.get(net) ?? UNKNOWN);
    this.#stuck.step(values);
    // Nets that are never known stand behind the lines.
    for (const { lanes } of this.#tied) lanes.step(values);
  }

  clock(): void {
    this.#stuck.clock();
    for (const { lanes } of this.#tied) lanes.clock();
  }

  /** Level of a net of the board without a fault: 1 low, 2 high, 3 not known. */
  good(net: number): number {
    return this.#stuck.value(net);
  }

  /** Level of a net inside the copy of one stuck effect, not as a fault of its reading shows it. */
  inside(effect: number, net: number): number {
    const lane = this.#laneOf[effect] ?? -1;
    if (lane >= 0) return this.#stuck.value(net, lane);
    const tied = this.#tied.find(({ index }) => index === effect);
    return tied === undefined ? UNKNOWN : this.#inTied(tied.lanes, net);
  }

  /**
   * Compare one net, as it is read, with the board without a fault.
   *
   * @param found called once for each effect that differs: `detected` where both are known
   */
  compare(net: number, found: (effect: number, detected: boolean) => void): void {
    const good = this.good(net);
    if (good === UNKNOWN) return;
    const { detected, possible } = this.#stuck.read([net]);
    for (const [effect, lane] of this.#laneOf.entries()) {
      if (lane < 0) continue;
      const word = Math.floor(lane / LANES_A_WORD);
      const bit = 1 << (lane % LANES_A_WORD);
      if (((detected[word] ?? 0) & bit) !== 0) found(effect, true);
      else if (((possible[word] ?? 0) & bit) !== 0) found(effect, false);
    }
    for (const { index, lanes } of this.#tied) {
      const level = this.#inTied(lanes, net);
      if (level !== good) found(index, level !== UNKNOWN);
    }
  }

  /** Nets of a tied copy have the names they have on the board. */
  #inTied(lanes: Lanes, net: number): number {
    const there = lanes.circuit.netOf.get(this.circuit.nets[net] ?? "");
    return there === undefined ? UNKNOWN : lanes.value(there);
  }
}
