/**
 * A circuit that keeps a state, with its faulty copies, taken one step at a time: lines to values, read, and
 * where it has flip-flops one edge of the clock. Says of each step whether it may stand in a test.
 */
import type { Fault } from "../faults/fault.ts";
import { type LaneReading, type LaneState, Lanes } from "../lanes/lanes.ts";
import type { Circuit } from "../netlist/circuit.ts";
import { wordBits } from "./cover.ts";
import { type StepRules, stepRules } from "./step-rules.ts";

export interface WalkSubject {
  readonly circuit: Circuit;
  /** How many of the circuit's inputs can be driven, from the first; the others stay unknown. */
  readonly lineCount: number;
  /** Nets that are read after each step. */
  readonly observed: readonly number[];
  /** Lines, by number, driven by contacts that bounce, and not carried through it by the board; none when not given. */
  readonly bouncing?: readonly number[];
}

/** Values of the lines, 1 low, 2 high. */
export type LineValues = Uint8Array;

export interface StepOutcome {
  /** The step ends where it must (see `StepRules`); one that does not is not taken. Always so with a clock. */
  readonly determined: boolean;
  readonly reading: LaneReading;
}

export class WalkMachine {
  readonly subject: WalkSubject;
  readonly lanes: Lanes;
  readonly isClocked: boolean;
  /** Lanes, as bits, whose faults are taken for found when they may show, as none can show them surely. */
  readonly unsure: Int32Array;
  readonly #inputs: Uint8Array;
  readonly #values: Uint8Array;
  readonly #rules: StepRules;
  readonly #nothing: LaneReading;

  /** @param faults of lanes 1, 2, ... */
  constructor(subject: WalkSubject, faults: readonly Fault[]) {
    const { circuit } = subject;
    this.subject = subject;
    this.lanes = new Lanes(
      circuit,
      faults.map((fault) => [fault]),
    );
    this.unsure = new Int32Array(this.lanes.wordCount);
    this.isClocked = circuit.flipFlopData.length > 0;
    this.#inputs = new Uint8Array(circuit.inputs.length).fill(3);
    this.#values = new Uint8Array(circuit.nets.length);
    this.#rules = stepRules(subject);
    const none = new Int32Array(this.lanes.wordCount);
    this.#nothing = { detected: none, possible: none };
  }

  /** @param atReading called when nets are read: settled, and before the clock */
  take(lines: LineValues, atReading?: () => void): StepOutcome {
    const { lanes, subject } = this;
    if (!this.isClocked && !this.#rules.allows(this.#goodValues(), lines))
      return { determined: false, reading: this.#nothing };
    this.#inputs.set(lines);
    lanes.step(this.#inputs);
    const reading = lanes.read(subject.observed);
    atReading?.();
    if (this.isClocked) lanes.clock();
    return { determined: true, reading };
  }

  #goodValues(): Uint8Array {
    const { nets } = this.subject.circuit;
    for (let net = 0; net < nets.length; net++) this.#values[net] = this.lanes.value(net);
    return this.#values;
  }

  /** Nets of the faultless circuit that are known. */
  knownCount(): number {
    let count = 0;
    for (let net = 0; net < this.subject.circuit.nets.length; net++)
      if (this.lanes.value(net) !== 3) count += 1;
    return count;
  }
}

export interface StateSurvey {
  /** The same for the same values in the faultless lane and in those that still count. */
  readonly key: string;
  /** Lanes that still count and are surely off at some net, read or not. */
  readonly offCount: number;
}

/**
 * Look through a state.
 *
 * @param counts lanes that still count, as bits
 */
export function surveyState(
  { low, high }: LaneState,
  netCount: number,
  counts: Int32Array,
): StateSurvey {
  let one = 0x811c9dc5;
  let two = 0x9747b28c;
  let offCount = 0;
  for (let word = 0; word < counts.length; word++) {
    const mask = (counts[word] as number) | (word === 0 ? 1 : 0);
    let off = 0;
    for (let net = 0; net < netCount; net++) {
      const at = word * netCount + net;
      const mayBeLow = low[at] as number;
      const mayBeHigh = high[at] as number;
      one = Math.imul(one ^ (mayBeLow & mask), 0x01000193) ^ (one >>> 15);
      two = Math.imul(two ^ (mayBeHigh & mask), 0x85ebca6b) ^ (two >>> 13);
      const goodHigh = -((high[net] as number) & ~(low[net] as number) & 1);
      const goodLow = -((low[net] as number) & ~(high[net] as number) & 1);
      off |= (goodHigh & mayBeLow & ~mayBeHigh) | (goodLow & mayBeHigh & ~mayBeLow);
    }
    one = Math.imul(one ^ mask, 0x01000193);
    offCount += wordBits(off & (counts[word] as number));
  }
  return { key: `${one >>> 0}.${two >>> 0}`, offCount };
}
