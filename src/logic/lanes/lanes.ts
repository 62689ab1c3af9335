/**
 * Many copies of one circuit stepped side by side, each with a fault of its own, the faultless one among
 * them as lane 0. A step is Eichelberger's procedures A and B, taken to their ends in each lane; gates that
 * are slow are first held where they were and then let go (see `Gate.slow`).
 *
 * Gates are evaluated one after the other and only where something they take from has changed. Both
 * procedures move values in one direction only (A from known to unknown, B back), so the order does not
 * change where they end, and they end within two changes a gate and lane.
 */
import type { Circuit } from "../netlist/circuit.ts";
import { evaluateWords, type PinWords } from "./gate-words.ts";
import { LANES_A_WORD, type LaneFaults, type LaneMasks, laneMasks } from "./lane-masks.ts";

/** A value as the set of levels it may have: 1 low, 2 high, 3 unknown. */
export type LaneValue = 1 | 2 | 3;

/** Values of all nets in all lanes; to be given back to the lanes it came from. */
export interface LaneState {
  readonly low: Int32Array;
  readonly high: Int32Array;
  /** Whether it is where a step ended: only then may gates without a moving source be passed over. */
  readonly settled: boolean;
}

/** What a reading of some nets says, 32 lanes a word; lane l is bit l % 32 of word floor(l / 32). */
export interface LaneReading {
  /** The faultless value is known, and here it is surely the opposite, at one net or more. */
  readonly detected: Int32Array;
  /** The faultless value is known, and here unknown, at one net or more; detected lanes may be among them. */
  readonly possible: Int32Array;
}

/** Gates in an order, and whether they feed back on each other. */
interface Segment {
  readonly from: number;
  readonly to: number;
  readonly loop: boolean;
}

export class Lanes {
  readonly circuit: Circuit;
  /** Faults, and one for the faultless lane. */
  readonly laneCount: number;
  readonly wordCount: number;
  readonly #masks: LaneMasks;
  readonly #segments: readonly Segment[];
  readonly #hasSlow: boolean;
  readonly #low: Int32Array;
  readonly #high: Int32Array;
  readonly #pins: PinWords;
  /** Gates with a source that changed; all 0 between steps. */
  readonly #due: Uint8Array;
  /** Gates evaluated by procedure A, which B evaluates again. */
  readonly #visited: Uint8Array;
  #settled = false;

  /** @param faults of lanes 1, 2, ...: none, one or several faults each, no place of a lane stuck both ways */
  constructor(circuit: Circuit, faults: readonly LaneFaults[]) {
    this.circuit = circuit;
    this.laneCount = faults.length + 1;
    this.#masks = laneMasks(circuit, faults);
    this.wordCount = this.#masks.wordCount;
    this.#segments = segmentsOf(circuit);
    this.#hasSlow = circuit.slow.includes(1);
    this.#low = new Int32Array(this.wordCount * circuit.nets.length);
    this.#high = new Int32Array(this.wordCount * circuit.nets.length);
    const pinsMost = Math.max(1, ...circuit.netlist.gates.map(({ inputs }) => inputs.length));
    this.#pins = { low: new Int32Array(pinsMost), high: new Int32Array(pinsMost) };
    this.#due = new Uint8Array(circuit.gateOutput.length);
    this.#visited = new Uint8Array(circuit.gateOutput.length);
    this.powerUp();
  }

  /** Every net unknown, lines included, but for those a fault holds. */
  powerUp(): void {
    this.startFrom(new Uint8Array(this.circuit.nets.length).fill(3));
  }

  /**
   * Every lane at these values, but for nets a fault holds.
   *
   * @param values by net number: 1 low, 2 high, 3 unknown
   */
  startFrom(values: ArrayLike<number>): void {
    const netCount = this.circuit.nets.length;
    for (let word = 0; word < this.wordCount; word++) {
      for (let net = 0; net < netCount; net++) {
        const value = values[net] ?? 3;
        this.#write(word, net, value & 1 ? -1 : 0, value & 2 ? -1 : 0);
      }
    }
    this.#settled = false;
  }

  /**
   * Give the lines these values at once and let every lane settle.
   *
   * @param inputs in the order of the circuit's inputs: 1 low, 2 high, 3 unknown
   */
  step(inputs: ArrayLike<number>): void {
    const { inputs: nets } = this.circuit;
    const low = new Int32Array(nets.length);
    const high = new Int32Array(nets.length);
    for (let index = 0; index < nets.length; index++) {
      const value = inputs[index] ?? 3;
      low[index] = value & 1 ? -1 : 0;
      high[index] = value & 2 ? -1 : 0;
    }
    for (let word = 0; word < this.wordCount; word++) this.#settle(word, nets, low, high);
    this.#settled = true;
  }

  /** One edge of the clock: every flip-flop takes its data, and every lane settles. */
  clock(): void {
    const { flipFlopData, flipFlopOutput, nets } = this.circuit;
    const { placeCount, dataPlace, stuckLow, stuckHigh } = this.#masks;
    const low = new Int32Array(flipFlopData.length);
    const high = new Int32Array(flipFlopData.length);
    for (let word = 0; word < this.wordCount; word++) {
      for (let index = 0; index < flipFlopData.length; index++) {
        const at = word * nets.length + (flipFlopData[index] as number);
        const place = word * placeCount + dataPlace + index;
        const toLow = stuckLow[place] as number;
        const toHigh = stuckHigh[place] as number;
        low[index] = ((this.#low[at] as number) & ~toHigh) | toLow;
        high[index] = ((this.#high[at] as number) & ~toLow) | toHigh;
      }
      this.#settle(word, flipFlopOutput, low, high);
    }
    this.#settled = true;
  }

  /** Value of a net in a lane, the faultless one when none is named. */
  value(net: number, lane = 0): LaneValue {
    const at = Math.floor(lane / LANES_A_WORD) * this.circuit.nets.length + net;
    const bit = lane % LANES_A_WORD;
    const low = ((this.#low[at] ?? 0) >>> bit) & 1;
    const high = ((this.#high[at] ?? 0) >>> bit) & 1;
    return (low | (high << 1)) as LaneValue;
  }

  /** Whether every net of the faultless lane is known. */
  isKnown(): boolean {
    for (let net = 0; net < this.circuit.nets.length; net++) {
      if (((this.#low[net] as number) & (this.#high[net] as number) & 1) === 1) return false;
    }
    return true;
  }

  /**
   * Compare these nets with the faultless lane, as they would be read from outside.
   *
   * @param each told of every net and word that has lanes surely or possibly off; net as index into `nets`
   */
  read(
    nets: ArrayLike<number>,
    each?: (index: number, word: number, surely: number, unknown: number) => void,
  ): LaneReading {
    const detected = new Int32Array(this.wordCount);
    const possible = new Int32Array(this.wordCount);
    const { placeCount, readingPlace, stuckLow, stuckHigh } = this.#masks;
    const netCount = this.circuit.nets.length;
    for (let index = 0; index < nets.length; index++) {
      const net = nets[index] as number;
      const good = this.value(net);
      if (good === 3) continue;
      for (let word = 0; word < this.wordCount; word++) {
        const at = word * netCount + net;
        const place = word * placeCount + readingPlace + net;
        const toLow = stuckLow[place] as number;
        const toHigh = stuckHigh[place] as number;
        const low = ((this.#low[at] as number) & ~toHigh) | toLow;
        const high = ((this.#high[at] as number) & ~toLow) | toHigh;
        const differs = good === 1 ? high & ~low : low & ~high;
        detected[word] = (detected[word] as number) | differs;
        possible[word] = (possible[word] as number) | (low & high);
        if (each && (differs | (low & high)) !== 0) each(index, word, differs, low & high);
      }
    }
    return { detected, possible };
  }

  /** A copy of where every lane is. */
  save(): LaneState {
    return { low: this.#low.slice(), high: this.#high.slice(), settled: this.#settled };
  }

  /** Be again where `save` was called on these lanes. */
  restore(state: LaneState): void {
    this.#low.set(state.low);
    this.#high.set(state.high);
    this.#settled = state.settled;
  }

  /** Move sources to new values in one word, and settle: slow gates last. */
  #settle(word: number, nets: Int32Array, low: Int32Array, high: Int32Array): void {
    if (!this.#settled) this.#due.fill(1);
    const acyclic = this.circuit.loops.length === 0;
    if (!acyclic) {
      this.#drive({ word, nets, low, high, joined: true });
      this.#sweep({ word, joined: true, slowHeld: this.#hasSlow });
    }
    this.#drive({ word, nets, low, high, joined: false });
    this.#sweep({ word, joined: false, slowHeld: this.#hasSlow && !acyclic });
    if (this.#hasSlow && !acyclic) {
      this.#sweep({ word, joined: true, slowHeld: false });
      this.#sweep({ word, joined: false, slowHeld: false });
    }
  }

  /** Give sources their new values, or while `joined` what they may be on the way: old or new. */
  #drive(move: {
    word: number;
    nets: Int32Array;
    low: Int32Array;
    high: Int32Array;
    joined: boolean;
  }): void {
    const { word, nets, low, high, joined } = move;
    for (let index = 0; index < nets.length; index++) {
      const net = nets[index] as number;
      const at = word * this.circuit.nets.length + net;
      const oldLow = joined ? (this.#low[at] as number) : 0;
      const oldHigh = joined ? (this.#high[at] as number) : 0;
      const changed = this.#write(
        word,
        net,
        oldLow | (low[index] as number),
        oldHigh | (high[index] as number),
      );
      if (changed) this.#callTakers(net);
    }
  }

  /** One of the procedures, to its end: A while `joined`, B otherwise. */
  #sweep(sweep: { word: number; joined: boolean; slowHeld: boolean }): void {
    const { word, joined, slowHeld } = sweep;
    const { order, slow, gateOutput, nets } = this.circuit;
    if (!joined) this.#callVisited();
    for (const { from, to, loop } of this.#segments) {
      for (let again = true; again; ) {
        again = false;
        for (let place = from; place < to; place++) {
          const gate = order[place] as number;
          if (this.#due[gate] === 0 || (slowHeld && slow[gate] === 1)) continue;
          this.#due[gate] = 0;
          if (joined) this.#visited[gate] = 1;
          this.#evaluate(word, gate);
          const net = gateOutput[gate] as number;
          const at = word * nets.length + net;
          const oldLow = joined ? (this.#low[at] as number) : 0;
          const oldHigh = joined ? (this.#high[at] as number) : 0;
          const low = oldLow | (this.#pins.low[0] as number);
          const high = oldHigh | (this.#pins.high[0] as number);
          if (this.#write(word, net, low, high)) {
            this.#callTakers(net);
            again = loop;
          }
        }
      }
    }
  }

  #callVisited(): void {
    for (let gate = 0; gate < this.#visited.length; gate++) {
      if (this.#visited[gate] === 0) continue;
      this.#due[gate] = 1;
      this.#visited[gate] = 0;
    }
  }

  #callTakers(net: number): void {
    const { takers, takerStart } = this.circuit;
    const end = takerStart[net + 1] as number;
    for (let at = takerStart[net] as number; at < end; at++) this.#due[takers[at] as number] = 1;
  }

  /** Write a net's words, but for lanes where a fault holds it; whether they changed. */
  #write(word: number, net: number, low: number, high: number): boolean {
    const at = word * this.circuit.nets.length + net;
    const place = word * this.#masks.placeCount + net;
    const toLow = this.#masks.stuckLow[place] as number;
    const toHigh = this.#masks.stuckHigh[place] as number;
    const nextLow = (low & ~toHigh) | toLow;
    const nextHigh = (high & ~toLow) | toHigh;
    if (nextLow === this.#low[at] && nextHigh === this.#high[at]) return false;
    this.#low[at] = nextLow;
    this.#high[at] = nextHigh;
    return true;
  }

  /** Output of a gate as its pins stand, left in place 0 of the pins. */
  #evaluate(word: number, gate: number): void {
    const { pinStart, pinNet, gateType, nets } = this.circuit;
    const { low, high } = this.#pins;
    const from = pinStart[gate] as number;
    const count = (pinStart[gate + 1] as number) - from;
    const base = word * nets.length;
    for (let pin = 0; pin < count; pin++) {
      const at = base + (pinNet[from + pin] as number);
      low[pin] = this.#low[at] as number;
      high[pin] = this.#high[at] as number;
    }
    if (this.#masks.pinFaulty[word * this.#due.length + gate] === 1)
      this.#holdPins(word, from, count);
    evaluateWords(gateType[gate] as number, this.#pins, count);
  }

  #holdPins(word: number, from: number, count: number): void {
    const { placeCount, pinPlace, stuckLow, stuckHigh } = this.#masks;
    const { low, high } = this.#pins;
    for (let pin = 0; pin < count; pin++) {
      const place = word * placeCount + pinPlace + from + pin;
      const toLow = stuckLow[place] as number;
      const toHigh = stuckHigh[place] as number;
      low[pin] = ((low[pin] as number) & ~toHigh) | toLow;
      high[pin] = ((high[pin] as number) & ~toLow) | toHigh;
    }
  }
}

/** Stretches of `order`: groups that feed back alone, all between them together. */
function segmentsOf({ order, loops }: Circuit): Segment[] {
  const sizes = new Map(loops.map((group) => [group[0], group.length]));
  const segments: Segment[] = [];
  let from = 0;
  for (let place = 0; place < order.length; ) {
    const size = sizes.get(order[place]);
    if (size === undefined) {
      place += 1;
      continue;
    }
    if (from < place) segments.push({ from, to: place, loop: false });
    segments.push({ from: place, to: place + size, loop: true });
    place += size;
    from = place;
  }
  if (from < order.length) segments.push({ from, to: order.length, loop: false });
  return segments;
}
