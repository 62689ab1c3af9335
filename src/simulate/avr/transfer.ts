/** Instructions that move bytes (AVR Instruction Set Manual DS40002198). */
import {
  constant,
  destination,
  type OpcodeShape,
  type Operation,
  source,
  upper,
} from "./operation.ts";

/** Start of SRAM: from here on no address has a peripheral behind it. */
const SRAM_START = 0x100;
const IO_START = 0x20;
const SP = 0x5d;
const X = 26;
const Y = 28;
const Z = 30;

function move(d: number, r: number): Operation {
  return (cpu) => {
    cpu.data[d] = cpu.data[r] as number;
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function moveWord(opcode: number): Operation {
  const d = ((opcode >> 4) & 0x0f) * 2;
  const r = (opcode & 0x0f) * 2;
  return (cpu) => {
    const { data } = cpu;
    data[d] = data[r] as number;
    data[d + 1] = data[r + 1] as number;
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function loadConstant(d: number, k: number): Operation {
  return (cpu) => {
    cpu.data[d] = k;
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

// A peripheral's hook sees the cycle in which the bus access happens: the last of a load, the one
// before the last of a store, as avr8js has it.

function loadDirect(d: number, address: number): Operation {
  if (address >= SRAM_START) {
    return (cpu) => {
      cpu.data[d] = cpu.data[address] as number;
      cpu.pc += 2;
      cpu.cycles += 2;
    };
  }
  return (cpu) => {
    cpu.cycles += 1;
    cpu.data[d] = cpu.readData(address);
    cpu.pc += 2;
    cpu.cycles += 1;
  };
}

function storeDirect(r: number, address: number): Operation {
  if (address >= SRAM_START) {
    return (cpu) => {
      cpu.data[address] = cpu.data[r] as number;
      cpu.pc += 2;
      cpu.cycles += 2;
    };
  }
  return (cpu) => {
    cpu.writeData(address, cpu.data[r] as number);
    cpu.pc += 2;
    cpu.cycles += 2;
  };
}

/** Load through a pointer pair at `p`, which moves by `before` before or by `after` after it. */
function loadPointer(
  d: number,
  p: number,
  by: { before: number; after: number; q: number },
): Operation {
  const { before, after, q } = by;
  return (cpu) => {
    const { data } = cpu;
    const pointer = (((data[p] as number) | ((data[p + 1] as number) << 8)) + before) & 0xffff;
    const address = pointer + q;
    cpu.cycles += 1;
    const value = address >= SRAM_START ? (data[address] as number) : cpu.readData(address);
    data[d] = value;
    if (before !== 0 || after !== 0) {
      const moved = pointer + after;
      data[p] = moved;
      data[p + 1] = moved >> 8;
    }
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function storePointer(
  r: number,
  p: number,
  by: { before: number; after: number; q: number },
): Operation {
  const { before, after, q } = by;
  return (cpu) => {
    const { data } = cpu;
    const pointer = (((data[p] as number) | ((data[p + 1] as number) << 8)) + before) & 0xffff;
    const address = pointer + q;
    const value = data[r] as number;
    if (address >= SRAM_START) {
      data[address] = value;
    } else {
      cpu.writeData(address, value);
    }
    if (before !== 0 || after !== 0) {
      const moved = pointer + after;
      data[p] = moved;
      data[p + 1] = moved >> 8;
    }
    cpu.pc += 1;
    cpu.cycles += 2;
  };
}

function push(r: number): Operation {
  return (cpu) => {
    const { data } = cpu;
    const sp = (data[SP] as number) | ((data[SP + 1] as number) << 8);
    data[sp] = data[r] as number;
    data[SP] = sp - 1;
    data[SP + 1] = (sp - 1) >> 8;
    cpu.pc += 1;
    cpu.cycles += 2;
  };
}

function pop(d: number): Operation {
  return (cpu) => {
    const { data } = cpu;
    const sp = ((data[SP] as number) | ((data[SP + 1] as number) << 8)) + 1;
    data[SP] = sp;
    data[SP + 1] = sp >> 8;
    data[d] = data[sp] as number;
    cpu.pc += 1;
    cpu.cycles += 2;
  };
}

const port = (opcode: number): number => ((opcode & 0x0f) | ((opcode >> 5) & 0x30)) + IO_START;

function readPort(d: number, address: number): Operation {
  return (cpu) => {
    cpu.data[d] = cpu.readData(address);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function writePort(r: number, address: number): Operation {
  return (cpu) => {
    cpu.writeData(address, cpu.data[r] as number);
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function loadProgram(d: number, after: number): Operation {
  return (cpu) => {
    const { data } = cpu;
    const z = (data[Z] as number) | ((data[Z + 1] as number) << 8);
    data[d] = cpu.progBytes[z] ?? 0;
    if (after !== 0) {
      data[Z] = z + after;
      data[Z + 1] = (z + after) >> 8;
    }
    cpu.pc += 1;
    cpu.cycles += 3;
  };
}

/** LDD and STD carry a displacement of 0..63: ..q. qq.. .... .qqq */
const displacement = (opcode: number): number =>
  (opcode & 7) | ((opcode >> 7) & 0x18) | ((opcode >> 8) & 0x20);

const stays = { before: 0, after: 0, q: 0 };
const rises = { before: 0, after: 1, q: 0 };
const falls = { before: -1, after: 0, q: 0 };
const offset = (opcode: number): { before: number; after: number; q: number } => ({
  before: 0,
  after: 0,
  q: displacement(opcode),
});

export const TRANSFER: readonly OpcodeShape[] = [
  { mask: 0xfc00, match: 0x2c00, make: (o) => move(destination(o), source(o)) },
  { mask: 0xff00, match: 0x0100, make: moveWord },
  { mask: 0xf000, match: 0xe000, make: (o) => loadConstant(upper(o), constant(o)) },
  { mask: 0xfe0f, match: 0x9000, make: (o, next) => loadDirect(destination(o), next) },
  { mask: 0xfe0f, match: 0x9200, make: (o, next) => storeDirect(destination(o), next) },
  { mask: 0xfe0f, match: 0x900c, make: (o) => loadPointer(destination(o), X, stays) },
  { mask: 0xfe0f, match: 0x900d, make: (o) => loadPointer(destination(o), X, rises) },
  { mask: 0xfe0f, match: 0x900e, make: (o) => loadPointer(destination(o), X, falls) },
  { mask: 0xfe0f, match: 0x9009, make: (o) => loadPointer(destination(o), Y, rises) },
  { mask: 0xfe0f, match: 0x900a, make: (o) => loadPointer(destination(o), Y, falls) },
  { mask: 0xfe0f, match: 0x9001, make: (o) => loadPointer(destination(o), Z, rises) },
  { mask: 0xfe0f, match: 0x9002, make: (o) => loadPointer(destination(o), Z, falls) },
  { mask: 0xd208, match: 0x8008, make: (o) => loadPointer(destination(o), Y, offset(o)) },
  { mask: 0xd208, match: 0x8000, make: (o) => loadPointer(destination(o), Z, offset(o)) },
  { mask: 0xfe0f, match: 0x920c, make: (o) => storePointer(destination(o), X, stays) },
  { mask: 0xfe0f, match: 0x920d, make: (o) => storePointer(destination(o), X, rises) },
  { mask: 0xfe0f, match: 0x920e, make: (o) => storePointer(destination(o), X, falls) },
  { mask: 0xfe0f, match: 0x9209, make: (o) => storePointer(destination(o), Y, rises) },
  { mask: 0xfe0f, match: 0x920a, make: (o) => storePointer(destination(o), Y, falls) },
  { mask: 0xfe0f, match: 0x9201, make: (o) => storePointer(destination(o), Z, rises) },
  { mask: 0xfe0f, match: 0x9202, make: (o) => storePointer(destination(o), Z, falls) },
  { mask: 0xd208, match: 0x8208, make: (o) => storePointer(destination(o), Y, offset(o)) },
  { mask: 0xd208, match: 0x8200, make: (o) => storePointer(destination(o), Z, offset(o)) },
  { mask: 0xfe0f, match: 0x920f, make: (o) => push(destination(o)) },
  { mask: 0xfe0f, match: 0x900f, make: (o) => pop(destination(o)) },
  { mask: 0xf800, match: 0xb000, make: (o) => readPort(destination(o), port(o)) },
  { mask: 0xf800, match: 0xb800, make: (o) => writePort(destination(o), port(o)) },
  { mask: 0xfe0f, match: 0x9004, make: (o) => loadProgram(destination(o), 0) },
  { mask: 0xfe0f, match: 0x9005, make: (o) => loadProgram(destination(o), 1) },
];
