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

/**
 * Operations by program address, decoded when first reached.
 *
 * @param program words of flash; its length is a power of two
 */
export function createProgramOperations(program: Uint16Array): Operation[] {
  const operations: Operation[] = [];
  const decodeHere: Operation = (cpu) => {
    // Straight-line code may run off the end of flash; the chip wraps.
    const address = cpu.pc & (program.length - 1);
    cpu.pc = address;
    const operation = decode(program[address] ?? 0, program[(address + 1) % program.length] ?? 0);
    operations[address] = operation;
    operation(cpu);
  };
  // Two more words than flash: where a skip or a two-word instruction at the end can lead.
  for (let address = 0; address < program.length + 2; address += 1) {
    operations.push(decodeHere);
  }
  return operations;
}
