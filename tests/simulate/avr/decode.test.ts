/**
 * Our operations against avr8js, opcode by opcode on random states: two decoders written apart.
 * Where they differ on purpose the instruction set manual decides, in tests of their own below.
 */
import { avrInstruction } from "avr8js";
import { describe, expect, it } from "vitest";
import { AvrCpu } from "../../../src/simulate/avr/cpu.ts";
import { decode, isStock } from "../../../src/simulate/avr/decode.ts";
import { sramNoise } from "../../../src/simulate/avr/sram-noise.ts";

const FLASH_WORDS = 0x4000;
const SREG = 0x5f;
const random = sramNoise(20_261_125);
const random16 = (): number => (random() << 8) | random();

const isCbi = (opcode: number): boolean => (opcode & 0xff00) === 0x9800;
const isNeg = (opcode: number): boolean => (opcode & 0xfe0f) === 0x9401;
const borrowsWithCarry = (opcode: number): boolean =>
  (opcode & 0xf800) === 0x0000
    ? (opcode & 0x0c00) === 0x0400
    : (opcode & 0xfc00) === 0x0800 || (opcode & 0xf000) === 0x4000;
/** A pre-decrement through X, Y or Z into the pointer itself: the manual calls the result undefined. */
const isUndefined = (opcode: number): boolean => {
  const d = (opcode >> 4) & 0x1f;
  const pair = { 36878: 26, 36874: 28, 36866: 30 }[opcode & 0xfe0f];
  return pair !== undefined && (d === pair || d === pair + 1);
};

/** avr8js takes the half carry from bit 0; the manual says bit 3. Nothing compiled from C reads it. */
const HALF_CARRY = 0x20;

function purposelyDifferentFlags(opcode: number): number {
  if (isNeg(opcode)) {
    return HALF_CARRY | 0x18;
  }
  const top = opcode >> 10;
  const adds = (top >= 0x01 && top <= 0x03) || (top >= 0x05 && top <= 0x07);
  const subtractsConstant = opcode >= 0x3000 && opcode < 0x6000;
  const isSbiw = (opcode & 0xff00) === 0x9700;
  return (
    (adds || subtractsConstant || isSbiw ? HALF_CARRY : 0) | (borrowsWithCarry(opcode) ? 0x02 : 0)
  );
}

function pairOfCpus() {
  const program = new Uint16Array(FLASH_WORDS);
  for (let address = 0; address < FLASH_WORDS; address += 1) {
    program[address] = random16();
  }
  return { program, stock: new AvrCpu(program, 0), ours: new AvrCpu(program, 0) };
}

describe("decoder", () => {
  it("does to registers, memory, flags, program counter and cycles what avr8js does", () => {
    const { program, stock, ours } = pairOfCpus();
    const state = new Uint8Array(stock.data.length);
    const wrong: string[] = [];
    for (let opcode = 0; opcode < 0x10000; opcode += 1) {
      if (isStock(opcode) || isUndefined(opcode)) {
        continue;
      }
      for (let trial = 0; trial < 3; trial += 1) {
        for (let address = 0; address < 0x120; address += 1) {
          state[address] = random();
        }
        state[0x5e] = 4 + (random() & 3); // a stack pointer inside memory
        if (trial > 0) {
          for (const high of [27, 29, 31]) {
            state[high] = 1 + (random() & 7); // pointers into SRAM; into anything on the first trial
          }
        }
        const pc = 0x0900 + (random16() % 0x2000);
        program[pc] = opcode;
        if (trial === 2) {
          program[pc + 1] = random(); // an address or opcode below the SRAM
        }
        for (const cpu of [stock, ours]) {
          cpu.data.set(state);
          cpu.pc = pc;
          cpu.cycles = 1000;
        }
        avrInstruction(stock);
        decode(opcode, program[pc + 1] ?? 0)(ours);
        const flags = purposelyDifferentFlags(opcode);
        stock.data[SREG] = (stock.data[SREG] ?? 0) & ~flags;
        ours.data[SREG] = (ours.data[SREG] ?? 0) & ~flags;
        const cycles = stock.cycles + (isCbi(opcode) ? 1 : 0);
        if (
          ours.pc !== stock.pc ||
          ours.cycles !== cycles ||
          Buffer.compare(ours.data, stock.data) !== 0
        ) {
          wrong.push(opcode.toString(16));
        }
      }
    }
    expect(wrong).toEqual([]);
  });

  it("leaves only multiplications, indirect jumps, bit copies and the like to avr8js, as compiled C seldom uses", () => {
    const left = new Set<number>();
    for (let opcode = 0; opcode < 0x10000; opcode += 1) {
      if (isStock(opcode)) {
        left.add(opcode & 0xfc00);
      }
    }
    // 0x0000 MULS and kin, 0x9000 and 0x9400 the odd ones, 0x9c00 MUL, 0xf800 BLD and BST.
    expect([...left].sort((a, b) => a - b)).toEqual([
      0x0000, 0x9000, 0x9400, 0x9c00, 0xf800, 0xfc00,
    ]);
  });

  const run = (opcode: number, set: Readonly<Record<number, number>>): AvrCpu => {
    const cpu = new AvrCpu(new Uint16Array(FLASH_WORDS), 0);
    for (const [address, value] of Object.entries(set)) {
      cpu.data[Number(address)] = value;
    }
    decode(opcode, 0)(cpu);
    return cpu;
  };

  it("counts two cycles for CBI (instruction set manual, CBI, AVRe)", () => {
    expect(run(0x982d, { 37: 0xff }).cycles).toBe(2);
  });

  it("sets V for NEG of 0x80 alone and S as N xor V (instruction set manual, NEG)", () => {
    const flagsOf = (value: number): number => (run(0x9401, { 0: value }).data[SREG] ?? 0) & 0x1c;
    expect(flagsOf(0x80)).toBe(0x04 | 0x08);
    expect(flagsOf(0x01)).toBe(0x04 | 0x10);
    expect(flagsOf(0xff)).toBe(0);
  });

  it("takes the half carry between bit 3 and bit 4 (instruction set manual, ADC, SBC)", () => {
    for (let pair = 0; pair < 0x10000; pair += 257 - 6) {
      const [a, b] = [pair >> 8, pair & 0xff];
      for (const carry of [0, 1]) {
        const added = (run(0x1c01, { 0: a, 1: b, [SREG]: carry }).data[SREG] ?? 0) & HALF_CARRY;
        expect(added !== 0).toBe((a & 15) + (b & 15) + carry > 15);
        const taken = (run(0x0801, { 0: a, 1: b, [SREG]: carry }).data[SREG] ?? 0) & HALF_CARRY;
        expect(taken !== 0).toBe((a & 15) - (b & 15) - carry < 0);
      }
    }
  });

  it("leaves H alone in SBIW (instruction set manual, SBIW: S, V, N, Z, C)", () => {
    expect((run(0x9701, { 24: 0, 25: 0, [SREG]: 0x20 }).data[SREG] ?? 0) & 0x20).toBe(0x20);
    expect((run(0x9701, { 24: 0, 25: 0, [SREG]: 0x00 }).data[SREG] ?? 0) & 0x20).toBe(0);
  });

  it("keeps Z where CPC comes out at zero through a full borrow (instruction set manual, CPC)", () => {
    // 0x00 - 0xFF - 1 is 0x00 in eight bits: previous Z remains.
    expect((run(0x0401, { 0: 0x00, 1: 0xff, [SREG]: 0x03 }).data[SREG] ?? 0) & 0x02).toBe(0x02);
    expect((run(0x0401, { 0: 0x00, 1: 0xff, [SREG]: 0x01 }).data[SREG] ?? 0) & 0x02).toBe(0);
    expect((run(0x0401, { 0: 0x05, 1: 0x01, [SREG]: 0x02 }).data[SREG] ?? 0) & 0x02).toBe(0);
  });
});
