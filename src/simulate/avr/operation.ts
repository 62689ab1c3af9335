import type { AvrCpu } from "./cpu.ts";

/** One instruction with its operands taken out of the opcode: moves the processor past itself. */
export type Operation = (cpu: AvrCpu) => void;

/** How opcodes of one shape become an operation; `next` is the word after the opcode. */
export interface OpcodeShape {
  readonly mask: number;
  readonly match: number;
  readonly make: (opcode: number, next: number) => Operation;
}

/** Data address of the status register. */
export const SREG = 0x5f;
export const FLAG_C = 0x01;
export const FLAG_Z = 0x02;
export const FLAG_N = 0x04;
export const FLAG_V = 0x08;
export const FLAG_S = 0x10;
export const FLAG_H = 0x20;

/** First register operand of most instructions: .... ...d dddd .... */
export const destination = (opcode: number): number => (opcode >> 4) & 0x1f;
/** Second register operand: .... ..r. .... rrrr */
export const source = (opcode: number): number => (opcode & 0x0f) | ((opcode >> 5) & 0x10);
/** Upper register of instructions with a constant: .... .... dddd .... */
export const upper = (opcode: number): number => ((opcode >> 4) & 0x0f) + 16;
/** Constant of those: .... KKKK .... KKKK */
export const constant = (opcode: number): number => (opcode & 0x0f) | ((opcode >> 4) & 0xf0);
