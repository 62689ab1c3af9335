/** How finely a test tells faults apart, without taking an unknown answer for a difference. */

import type { Fault } from "../faults/fault.ts";
import { LANES_A_WORD } from "../lanes/lane-masks.ts";
import { wordBits } from "./cover.ts";
import { type LineValues, WalkMachine, type WalkSubject } from "./walk-machine.ts";

export interface Resolution {
  /** Pairs of faults that at some step must read differently at some net. */
  readonly pairsApart: number;
  readonly pairs: number;
  /** Faults told apart from every other fault. */
  readonly named: number;
}

/** @param vectors steps from power-up */
export function resolutionOf(
  subject: WalkSubject,
  faults: readonly Fault[],
  vectors: readonly LineValues[],
): Resolution {
  const machine = new WalkMachine(subject, faults);
  const { lanes } = machine;
  const apart = faults.map(() => new Int32Array(lanes.wordCount));
  for (const vector of vectors)
    machine.take(vector, () => {
      for (const [index] of subject.observed.entries())
        tellApart(apart, lanesAt(machine, subject.observed[index] as number));
    });
  const pairs = (faults.length * (faults.length - 1)) / 2;
  let ordered = 0;
  let named = 0;
  for (const row of apart) {
    const count = row.reduce((sum, word) => sum + wordBits(word), 0);
    ordered += count;
    if (count === faults.length - 1) named += 1;
  }
  return { pairsApart: ordered / 2, pairs, named };
}

interface NetAnswers {
  readonly surely: Int32Array;
  readonly unknown: Int32Array;
}

function lanesAt({ lanes }: WalkMachine, net: number): NetAnswers {
  const surely = new Int32Array(lanes.wordCount);
  const unknown = new Int32Array(lanes.wordCount);
  lanes.read([net], (_, word, off, open) => {
    surely[word] = off;
    unknown[word] = open;
  });
  return { surely, unknown };
}

/** Lanes surely off and lanes surely right are apart, both ways round. */
function tellApart(apart: readonly Int32Array[], { surely, unknown }: NetAnswers): void {
  if (surely.every((word) => word === 0)) return;
  for (const [fault, row] of apart.entries()) {
    const lane = fault + 1;
    const word = Math.floor(lane / LANES_A_WORD);
    const bit = 1 << (lane % LANES_A_WORD);
    if (((unknown[word] as number) & bit) !== 0) continue;
    const isOff = ((surely[word] as number) & bit) !== 0;
    for (let at = 0; at < row.length; at++) {
      const others = isOff ? ~((surely[at] as number) | (unknown[at] as number)) : surely[at];
      row[at] = (row[at] as number) | ((others as number) & laneBits(at, apart.length));
    }
  }
}

/** Bits of one word that are faults: neither the faultless lane nor beyond the last. */
function laneBits(word: number, faultCount: number): number {
  const from = word * LANES_A_WORD;
  const beyond = faultCount + 1 - from;
  const upTo = beyond >= LANES_A_WORD ? -1 : (1 << Math.max(0, beyond)) - 1;
  return from === 0 ? upTo & ~1 : upTo;
}
