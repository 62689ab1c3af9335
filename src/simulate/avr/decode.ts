/**
 * Turns program words into operations, each once. The instructions that compiled C spends its time
 * in have operations of our own, about four times as fast as trying opcode after opcode; all
 * others are left to avr8js. tests/simulate/avr/decode.test.ts holds both to one behaviour.
 */
import { avrInstruction } from "avr8js";
import { ARITHMETIC } from "./arithmetic.ts";
import { FLOW } from "./flow.ts";
import type { Operation } from "./operation.ts";
import { TRANSFER } from "./transfer.ts";

const SHAPES = [...FLOW, ...TRANSFER, ...ARITHMETIC];

const stock: Operation = (cpu) => avrInstruction(cpu);

/** Operation for one opcode; `next` is the program word that follows it. */
export function decode(opcode: number, next: number): Operation {
  const shape = SHAPES.find(({ mask, match }) => (opcode & mask) === match);
  return shape === undefined ? stock : shape.make(opcode, next);
}

/** Whether an opcode is left to avr8js. */
export function isStock(opcode: number): boolean {
  return decode(opcode, 0) === stock;
}

/** Operations of a program by address, each decoded when first reached. */
export interface ProgramOperations {
  /** Null where nothing has been decoded yet. */
  readonly at: (Operation | null)[];
  /** Decode the word at `address` for good. */
  decodeAt(address: number): Operation;
}

/** @param program words of flash; its length is a power of two */
export function createProgramOperations(program: Uint16Array): ProgramOperations {
  // Two more words than flash: where a skip or a two-word instruction at its end can lead.
  const at: (Operation | null)[] = new Array(program.length + 2).fill(null);
  return {
    at,
    decodeAt(address) {
      const within = address & (program.length - 1);
      const next = program[(within + 1) & (program.length - 1)] ?? 0;
      const decoded = decode(program[within] ?? 0, next);
      const operation: Operation =
        address === within
          ? decoded
          : (cpu) => {
              // Straight-line code ran off the end of flash; the chip goes on at its start.
              cpu.pc = within;
              decoded(cpu);
            };
      at[address] = operation;
      return operation;
    },
  };
}
