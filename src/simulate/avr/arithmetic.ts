/**
 * Arithmetic and logic instructions (AVR Instruction Set Manual DS40002198). Flags follow the
 * Boolean formulas printed there with each instruction.
 */
import {
  constant,
  destination,
  FLAG_C,
  FLAG_H,
  FLAG_N,
  FLAG_S,
  FLAG_V,
  FLAG_Z,
  type OpcodeShape,
  type Operation,
  SREG,
  source,
  upper,
} from "./operation.ts";

/** N, Z and S of a result with V clear, by result. */
const SIGN_FLAGS = Uint8Array.from({ length: 256 }, (_, value) =>
  value === 0 ? FLAG_Z : value >= 0x80 ? FLAG_N | FLAG_S : 0,
);

/** H, S, V, N, Z, C of a + b (+ carry) = result. */
function sumFlags(a: number, b: number, result: number): number {
  const carry = (a & b) | (b & ~result) | (~result & a);
  const overflow = ((a ^ result) & (b ^ result) & 0x80) !== 0 ? FLAG_V | FLAG_S : 0;
  return ((SIGN_FLAGS[result] ?? 0) ^ overflow) | ((carry >> 7) & FLAG_C) | ((carry << 2) & FLAG_H);
}

/** H, S, V, N, Z, C of a - b (- carry) = result. */
function differenceFlags(a: number, b: number, result: number): number {
  const borrow = (~a & b) | (b & result) | (result & ~a);
  const overflow = ((a ^ b) & (a ^ result) & 0x80) !== 0 ? FLAG_V | FLAG_S : 0;
  return (
    ((SIGN_FLAGS[result] ?? 0) ^ overflow) | ((borrow >> 7) & FLAG_C) | ((borrow << 2) & FLAG_H)
  );
}

const KEEP_IT = 0xc0;

/** Two registers, or a register and a constant when `k` is not null, by subtraction. */
function subtract(d: number, r: number, k: number | null, store: boolean): Operation {
  return (cpu) => {
    const { data } = cpu;
    const a = data[d] as number;
    const b = k ?? (data[r] as number);
    const result = (a - b) & 0xff;
    if (store) {
      data[d] = result;
    }
    data[SREG] = ((data[SREG] as number) & KEEP_IT) | differenceFlags(a, b, result);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

/** As subtract, with the carry, and Z only ever cleared so that chains compare whole numbers. */
function subtractCarry(d: number, r: number, k: number | null, store: boolean): Operation {
  return (cpu) => {
    const { data } = cpu;
    const a = data[d] as number;
    const b = k ?? (data[r] as number);
    const before = data[SREG] as number;
    const result = (a - b - (before & FLAG_C)) & 0xff;
    if (store) {
      data[d] = result;
    }
    const flags = differenceFlags(a, b, result);
    data[SREG] = (before & KEEP_IT) | (flags & (before | ~FLAG_Z));
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function add(d: number, r: number, withCarry: boolean): Operation {
  return (cpu) => {
    const { data } = cpu;
    const a = data[d] as number;
    const b = data[r] as number;
    const before = data[SREG] as number;
    const result = (a + b + (withCarry ? before & FLAG_C : 0)) & 0xff;
    data[d] = result;
    data[SREG] = (before & KEEP_IT) | sumFlags(a, b, result);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

const KEEP_ITHC = KEEP_IT | FLAG_H | FLAG_C;

function logic(
  d: number,
  r: number,
  k: number | null,
  combine: (a: number, b: number) => number,
): Operation {
  return (cpu) => {
    const { data } = cpu;
    const result = combine(data[d] as number, k ?? (data[r] as number));
    data[d] = result;
    data[SREG] = ((data[SREG] as number) & KEEP_ITHC) | (SIGN_FLAGS[result] as number);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

/** INC and DEC: V when the sign bit changes by overflow alone, that is at `overflowsTo`. */
function step(d: number, by: number, overflowsTo: number): Operation {
  return (cpu) => {
    const { data } = cpu;
    const result = ((data[d] as number) + by) & 0xff;
    data[d] = result;
    const overflow = result === overflowsTo ? FLAG_V | FLAG_S : 0;
    data[SREG] = ((data[SREG] as number) & KEEP_ITHC) | ((SIGN_FLAGS[result] as number) ^ overflow);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

/** LSR, ROR and ASR: C is the bit shifted out, V = N xor C, S = N xor V. */
function shiftRight(d: number, top: (value: number, sreg: number) => number): Operation {
  return (cpu) => {
    const { data } = cpu;
    const value = data[d] as number;
    const before = data[SREG] as number;
    const result = (value >> 1) | top(value, before);
    data[d] = result;
    const carry = value & 1;
    const negative = result >> 7;
    data[SREG] =
      (before & (KEEP_IT | FLAG_H)) |
      carry |
      (result === 0 ? FLAG_Z : 0) |
      (negative !== 0 ? FLAG_N : 0) |
      (negative !== carry ? FLAG_V : 0) |
      (carry !== 0 ? FLAG_S : 0);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function negate(d: number): Operation {
  return (cpu) => {
    const { data } = cpu;
    const value = data[d] as number;
    const result = -value & 0xff;
    data[d] = result;
    data[SREG] = ((data[SREG] as number) & KEEP_IT) | differenceFlags(0, value, result);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function swap(d: number): Operation {
  return (cpu) => {
    const value = cpu.data[d] as number;
    cpu.data[d] = (value << 4) | (value >> 4);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

/** ADIW and SBIW: a register pair and a constant of 0..63. */
function wide(opcode: number, sign: 1 | -1): Operation {
  const d = 24 + ((opcode >> 3) & 6);
  const k = (opcode & 0x0f) | ((opcode >> 2) & 0x30);
  return (cpu) => {
    const { data } = cpu;
    const before = (data[d] as number) | ((data[d + 1] as number) << 8);
    const result = (before + sign * k) & 0xffff;
    data[d] = result;
    data[d + 1] = result >> 8;
    const rose = (~before & result & 0x8000) !== 0;
    const fell = (before & ~result & 0x8000) !== 0;
    const negative = result >= 0x8000;
    const overflow = sign > 0 ? rose : fell;
    data[SREG] =
      ((data[SREG] as number) & (KEEP_IT | FLAG_H)) |
      ((sign > 0 ? fell : rose) ? FLAG_C : 0) |
      (result === 0 ? FLAG_Z : 0) |
      (negative ? FLAG_N : 0) |
      (overflow ? FLAG_V : 0) |
      (negative !== overflow ? FLAG_S : 0);
    cpu.pc += 1;
    cpu.cycles += 2;
  };
}

const and = (a: number, b: number): number => a & b;
const or = (a: number, b: number): number => a | b;
const xor = (a: number, b: number): number => a ^ b;

export const ARITHMETIC: readonly OpcodeShape[] = [
  { mask: 0xfc00, match: 0x0c00, make: (o) => add(destination(o), source(o), false) },
  { mask: 0xfc00, match: 0x1c00, make: (o) => add(destination(o), source(o), true) },
  { mask: 0xfc00, match: 0x1800, make: (o) => subtract(destination(o), source(o), null, true) },
  { mask: 0xfc00, match: 0x1400, make: (o) => subtract(destination(o), source(o), null, false) },
  {
    mask: 0xfc00,
    match: 0x0800,
    make: (o) => subtractCarry(destination(o), source(o), null, true),
  },
  {
    mask: 0xfc00,
    match: 0x0400,
    make: (o) => subtractCarry(destination(o), source(o), null, false),
  },
  { mask: 0xf000, match: 0x5000, make: (o) => subtract(upper(o), 0, constant(o), true) },
  { mask: 0xf000, match: 0x3000, make: (o) => subtract(upper(o), 0, constant(o), false) },
  { mask: 0xf000, match: 0x4000, make: (o) => subtractCarry(upper(o), 0, constant(o), true) },
  { mask: 0xfc00, match: 0x2000, make: (o) => logic(destination(o), source(o), null, and) },
  { mask: 0xfc00, match: 0x2800, make: (o) => logic(destination(o), source(o), null, or) },
  { mask: 0xfc00, match: 0x2400, make: (o) => logic(destination(o), source(o), null, xor) },
  { mask: 0xf000, match: 0x7000, make: (o) => logic(upper(o), 0, constant(o), and) },
  { mask: 0xf000, match: 0x6000, make: (o) => logic(upper(o), 0, constant(o), or) },
  { mask: 0xfe0f, match: 0x9403, make: (o) => step(destination(o), 1, 0x80) },
  { mask: 0xfe0f, match: 0x940a, make: (o) => step(destination(o), -1, 0x7f) },
  { mask: 0xfe0f, match: 0x9406, make: (o) => shiftRight(destination(o), () => 0) },
  { mask: 0xfe0f, match: 0x9407, make: (o) => shiftRight(destination(o), (_, s) => (s & 1) << 7) },
  { mask: 0xfe0f, match: 0x9405, make: (o) => shiftRight(destination(o), (v) => v & 0x80) },
  { mask: 0xfe0f, match: 0x9401, make: (o) => negate(destination(o)) },
  { mask: 0xfe0f, match: 0x9402, make: (o) => swap(destination(o)) },
  { mask: 0xff00, match: 0x9600, make: (o) => wide(o, 1) },
  { mask: 0xff00, match: 0x9700, make: (o) => wide(o, -1) },
];
