/**
 * Where faults sit, lane by lane, as words: which lanes see a net, a pin or a reading stuck low or stuck
 * high. Places are numbered in one row: stems by net, readings by net, pins, flip-flop data.
 */
import type { Fault } from "../faults/fault.ts";
import type { Circuit } from "../netlist/circuit.ts";

/** What is wrong in one lane: one fault, or several at once. */
export type LaneFaults = readonly Fault[];

export interface LaneMasks {
  /** Words of 32 lanes; lane 0 is the board without a fault. */
  readonly wordCount: number;
  /** Places of one word: words of place p in word w are `stuckLow[w * placeCount + p]` and so on. */
  readonly placeCount: number;
  readonly stuckLow: Int32Array;
  readonly stuckHigh: Int32Array;
  /** 1 where gate g of word w has a fault at a pin: `pinFaulty[w * gateCount + g]`. */
  readonly pinFaulty: Uint8Array;
  readonly readingPlace: number;
  readonly pinPlace: number;
  readonly dataPlace: number;
}

export const LANES_A_WORD = 32;

/** @param lanes faults of lanes 1, 2, ... */
export function laneMasks(circuit: Circuit, lanes: readonly LaneFaults[]): LaneMasks {
  const wordCount = Math.ceil((lanes.length + 1) / LANES_A_WORD);
  const gateCount = circuit.gateOutput.length;
  const readingPlace = circuit.nets.length;
  const pinPlace = 2 * circuit.nets.length;
  const dataPlace = pinPlace + circuit.pinNet.length;
  const placeCount = dataPlace + circuit.flipFlopData.length;
  const masks: LaneMasks = {
    wordCount,
    placeCount,
    stuckLow: new Int32Array(wordCount * placeCount),
    stuckHigh: new Int32Array(wordCount * placeCount),
    pinFaulty: new Uint8Array(wordCount * gateCount),
    readingPlace,
    pinPlace,
    dataPlace,
  };
  for (const [index, faults] of lanes.entries()) {
    const word = Math.floor((index + 1) / LANES_A_WORD);
    const bit = 1 << ((index + 1) % LANES_A_WORD);
    for (const fault of faults) {
      const place = word * placeCount + placeOf(circuit, masks, fault);
      const words = fault.stuckAt === 0 ? masks.stuckLow : masks.stuckHigh;
      words[place] = (words[place] ?? 0) | bit;
      if (fault.site.kind === "gate pin") masks.pinFaulty[word * gateCount + fault.site.gate] = 1;
    }
  }
  return masks;
}

function placeOf(circuit: Circuit, masks: LaneMasks, { net, site }: Fault): number {
  switch (site.kind) {
    case "stem":
      return net;
    case "observed":
      return masks.readingPlace + net;
    case "gate pin":
      return masks.pinPlace + (circuit.pinStart[site.gate] ?? 0) + site.pin;
    case "flip-flop data":
      return masks.dataPlace + site.flipFlop;
  }
}
