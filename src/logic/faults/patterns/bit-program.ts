/**
 * Straight-line programs of bitwise operations on rows of words, 32 patterns a word: all that simulating
 * patterns and observing faults comes to.
 */

/** Operations by number; `andNot` is the first without the second. Those of one word take it as both. */
export const OPERATIONS = {
  and: 0,
  nand: 1,
  or: 2,
  nor: 3,
  xor: 4,
  xnor: 5,
  copy: 6,
  not: 7,
  andNot: 8,
} as const;
export type Operation = (typeof OPERATIONS)[keyof typeof OPERATIONS];

/** Words of a row: 512 patterns at once, so that reading an instruction costs little beside obeying it. */
export const ROW_WORDS = 16;
export const ROW_PATTERNS = 32 * ROW_WORDS;

export interface BitProgram {
  /** Four numbers each: operation, then target, first and second row. */
  readonly instructions: Int32Array;
  readonly rowCount: number;
}

export class BitProgramWriter {
  readonly #instructions: number[] = [];
  #rowCount = 0;

  /** So many new rows; the number of the first. */
  rows(count: number): number {
    const first = this.#rowCount;
    this.#rowCount += count;
    return first;
  }

  add(operation: Operation, target: number, first: number, second = first): void {
    this.#instructions.push(operation, target, first, second);
  }

  finish(): BitProgram {
    return { instructions: Int32Array.from(this.#instructions), rowCount: this.#rowCount };
  }
}
