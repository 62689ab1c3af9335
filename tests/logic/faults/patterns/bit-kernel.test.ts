import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { bitMachine } from "../../../../src/logic/faults/patterns/bit-kernel.ts";
import {
  type BitProgram,
  BitProgramWriter,
  OPERATIONS,
  type Operation,
  ROW_WORDS,
} from "../../../../src/logic/faults/patterns/bit-program.ts";

/** Each operation as one expression, word by word. */
const MEANING: Readonly<Record<Operation, (first: number, second: number) => number>> = {
  [OPERATIONS.and]: (first, second) => first & second,
  [OPERATIONS.nand]: (first, second) => ~(first & second),
  [OPERATIONS.or]: (first, second) => first | second,
  [OPERATIONS.nor]: (first, second) => ~(first | second),
  [OPERATIONS.xor]: (first, second) => first ^ second,
  [OPERATIONS.xnor]: (first, second) => ~(first ^ second),
  [OPERATIONS.copy]: (first) => first,
  [OPERATIONS.not]: (first) => ~first,
  [OPERATIONS.andNot]: (first, second) => first & ~second,
};

function obeyWordByWord({ instructions }: BitProgram, words: Int32Array): void {
  for (let at = 0; at < instructions.length; at += 4) {
    const [operation = 0, target = 0, first = 0, second = 0] = instructions.subarray(at, at + 4);
    for (let word = 0; word < ROW_WORDS; word++) {
      words[target * ROW_WORDS + word] = MEANING[operation as Operation](
        words[first * ROW_WORDS + word] ?? 0,
        words[second * ROW_WORDS + word] ?? 0,
      );
    }
  }
}

describe("bitMachine", () => {
  it("obeys any program as its operations are defined, targets among its sources as well", () => {
    const row = fc.nat(5);
    const instruction = fc.tuple(fc.constantFrom(...Object.values(OPERATIONS)), row, row, row);
    const start = fc.array(fc.integer(), { minLength: 6 * ROW_WORDS, maxLength: 6 * ROW_WORDS });
    fc.assert(
      fc.property(fc.array(instruction), start, (instructions, values) => {
        const writer = new BitProgramWriter();
        writer.rows(6);
        for (const [operation, target, first, second] of instructions)
          writer.add(operation, target, first, second);
        const program = writer.finish();
        const machine = bitMachine(program);
        machine.words.set(values);
        machine.run();
        const expected = Int32Array.from(values);
        obeyWordByWord(program, expected);
        expect(machine.words).toEqual(expected);
      }),
    );
  });

  it("has room for more rows than one page of memory", () => {
    const writer = new BitProgramWriter();
    const last = writer.rows(5000) + 4999;
    writer.add(OPERATIONS.not, last, 0);
    const machine = bitMachine(writer.finish());
    machine.run();
    expect(machine.words.at(-1)).toBe(-1);
    expect(machine.words).toHaveLength(5000 * ROW_WORDS);
  });
});
