/**
 * How finely a test tells faults apart: faults that have answered alike in every step so far stand in one
 * group.
 */

import { LANES_A_WORD } from "../lanes/lane-masks.ts";
import type { Lanes } from "../lanes/lanes.ts";

/**
 * What each lane answers where it now is, as one text: the nets at which it differs from the faultless lane,
 * and those at which it is unknown; empty where it answers alike.
 */
export function answersNow(lanes: Lanes, observed: ArrayLike<number>): string[] {
  const answers = Array.from({ length: lanes.laneCount }, () => "");
  const append = (index: number, word: number, bits: number, mark: string) => {
    for (let left = bits; left !== 0; left &= left - 1) {
      const lane = word * LANES_A_WORD + (31 - Math.clz32(left & -left));
      if (lane < answers.length) answers[lane] += `${index}${mark}`;
    }
  };
  lanes.read(observed, (index, word, surely, unknown) => {
    append(index, word, surely, "!");
    append(index, word, unknown, "?");
  });
  return answers;
}

/** Groups of lanes; the faultless lane is one of them. An unknown counts as an answer of its own. */
export class FaultGroups {
  #groupOf: Int32Array;
  #count = 1;

  constructor(laneCount: number) {
    this.#groupOf = new Int32Array(laneCount);
  }

  get count(): number {
    return this.#count;
  }

  /** How many groups there would be after one more step. */
  countAfter(answers: readonly string[]): number {
    return this.#split(answers).count;
  }

  split(answers: readonly string[]): void {
    const { groupOf, count } = this.#split(answers);
    this.#groupOf = groupOf;
    this.#count = count;
  }

  #split(answers: readonly string[]): { groupOf: Int32Array; count: number } {
    const numbers = new Map<string, number>();
    const groupOf = this.#groupOf.map((group, lane) => {
      const key = `${group}:${answers[lane]}`;
      const known = numbers.get(key);
      if (known !== undefined) return known;
      numbers.set(key, numbers.size);
      return numbers.size - 1;
    });
    return { groupOf, count: numbers.size };
  }
}

/**
 * An order of steps that are free to be moved, each next the one that leaves the most groups.
 *
 * @param answers of each step, of each lane
 * @returns indices of steps
 */
export function splittingOrder(answers: readonly (readonly string[])[]): number[] {
  const groups = new FaultGroups(answers[0]?.length ?? 0);
  const left = new Set(answers.keys());
  const order: number[] = [];
  while (left.size > 0) {
    let best = -1;
    let most = -1;
    for (const step of left) {
      const count = groups.countAfter(answers[step] ?? []);
      if (count <= most) continue;
      most = count;
      best = step;
    }
    groups.split(answers[best] ?? []);
    left.delete(best);
    order.push(best);
  }
  return order;
}
