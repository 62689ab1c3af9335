/** Jumps, branches, skips, calls and single bits (AVR Instruction Set Manual DS40002198). */
import { destination, type OpcodeShape, type Operation, SREG, source } from "./operation.ts";

const SP = 0x5d;
const IO_START = 0x20;
/** Program memory of the chip, words; the program counter wraps there. */
const PROGRAM_MASK = 0x3fff;

const signed12 = (opcode: number): number => (opcode & 0x7ff) - (opcode & 0x800);
const signed7 = (opcode: number): number => ((opcode >> 3) & 0x3f) - ((opcode >> 3) & 0x40);

function jumpBy(words: number): Operation {
  return (cpu) => {
    cpu.pc = (cpu.pc + words + 1) & PROGRAM_MASK;
    cpu.cycles += 2;
  };
}

function jumpTo(address: number): Operation {
  return (cpu) => {
    cpu.pc = address & PROGRAM_MASK;
    cpu.cycles += 3;
  };
}

/** Branch when the bit of the status register, exclusive-ored with `flip`, is set. */
function branch(bit: number, flip: number, words: number): Operation {
  return (cpu) => {
    if ((((cpu.data[SREG] as number) ^ flip) & bit) !== 0) {
      cpu.pc = (cpu.pc + words + 1) & PROGRAM_MASK;
      cpu.cycles += 2;
    } else {
      cpu.pc += 1;
      cpu.cycles += 1;
    }
  };
}

function pushReturn(data: Uint8Array, address: number): void {
  const sp = (data[SP] as number) | ((data[SP + 1] as number) << 8);
  data[sp] = address;
  data[sp - 1] = address >> 8;
  data[SP] = sp - 2;
  data[SP + 1] = (sp - 2) >> 8;
}

function callBy(words: number): Operation {
  return (cpu) => {
    pushReturn(cpu.data, cpu.pc + 1);
    cpu.pc = (cpu.pc + words + 1) & PROGRAM_MASK;
    cpu.cycles += 3;
  };
}

function callTo(address: number): Operation {
  return (cpu) => {
    pushReturn(cpu.data, cpu.pc + 2);
    cpu.pc = address & PROGRAM_MASK;
    cpu.cycles += 4;
  };
}

const popReturn: Operation = (cpu) => {
  const { data } = cpu;
  const sp = ((data[SP] as number) | ((data[SP + 1] as number) << 8)) + 2;
  data[SP] = sp;
  data[SP + 1] = sp >> 8;
  cpu.pc = (((data[sp - 1] as number) << 8) | (data[sp] as number)) & PROGRAM_MASK;
  cpu.cycles += 4;
};

const returnHere: Operation = (cpu) => popReturn(cpu);

export const returnFromInterrupt: Operation = (cpu) => {
  popReturn(cpu);
  cpu.data[SREG] = (cpu.data[SREG] as number) | 0x80;
};

export const enableInterrupts: Operation = (cpu) => {
  cpu.data[SREG] = (cpu.data[SREG] as number) | 0x80;
  cpu.pc += 1;
  cpu.cycles += 1;
};

/** Moves on only; the run loop puts the processor to sleep. */
export const sleep: Operation = (cpu) => {
  cpu.pc += 1;
  cpu.cycles += 1;
};

const noOperation: Operation = (cpu) => {
  cpu.pc += 1;
  cpu.cycles += 1;
};

function setStatus(bit: number): Operation {
  return (cpu) => {
    cpu.data[SREG] = (cpu.data[SREG] as number) | bit;
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

function clearStatus(bit: number): Operation {
  return (cpu) => {
    cpu.data[SREG] = (cpu.data[SREG] as number) & ~bit;
    cpu.pc += 1;
    cpu.cycles += 1;
  };
}

/** Words to step over a skipped instruction: two for LDS, STS, JMP and CALL. */
function skippedWords(next: number): number {
  const twoWords =
    (next & 0xfe0f) === 0x9000 ||
    (next & 0xfe0f) === 0x9200 ||
    (next & 0xfe0e) === 0x940c ||
    (next & 0xfe0e) === 0x940e;
  return twoWords ? 2 : 1;
}

function skipIf(next: number, holds: (data: Uint8Array) => boolean): Operation {
  const words = skippedWords(next);
  return (cpu) => {
    if (holds(cpu.data)) {
      cpu.pc += 1 + words;
      cpu.cycles += 1 + words;
    } else {
      cpu.pc += 1;
      cpu.cycles += 1;
    }
  };
}

function skipIfPort(opcode: number, next: number, whenSet: boolean): Operation {
  const address = ((opcode >> 3) & 0x1f) + IO_START;
  const bit = 1 << (opcode & 7);
  const words = skippedWords(next);
  return (cpu) => {
    const extra = ((cpu.readData(address) & bit) !== 0) === whenSet ? words : 0;
    cpu.pc += 1 + extra;
    cpu.cycles += 1 + extra;
  };
}

function writePortBit(opcode: number, set: boolean): Operation {
  const address = ((opcode >> 3) & 0x1f) + IO_START;
  const bit = 1 << (opcode & 7);
  return (cpu) => {
    const value = cpu.readData(address);
    cpu.writeData(address, set ? value | bit : value & ~bit, bit);
    cpu.pc += 1;
    cpu.cycles += 2;
  };
}

const statusBit = (opcode: number): number => 1 << ((opcode >> 4) & 7);

export const FLOW: readonly OpcodeShape[] = [
  { mask: 0xf000, match: 0xc000, make: (o) => jumpBy(signed12(o)) },
  { mask: 0xffff, match: 0x940c, make: (_, next) => jumpTo(next) },
  { mask: 0xfc00, match: 0xf000, make: (o) => branch(1 << (o & 7), 0, signed7(o)) },
  { mask: 0xfc00, match: 0xf400, make: (o) => branch(1 << (o & 7), 0xff, signed7(o)) },
  { mask: 0xf000, match: 0xd000, make: (o) => callBy(signed12(o)) },
  { mask: 0xffff, match: 0x940e, make: (_, next) => callTo(next) },
  { mask: 0xffff, match: 0x9508, make: () => returnHere },
  { mask: 0xffff, match: 0x9518, make: () => returnFromInterrupt },
  { mask: 0xffff, match: 0x9478, make: () => enableInterrupts },
  { mask: 0xffff, match: 0x9588, make: () => sleep },
  { mask: 0xffff, match: 0x0000, make: () => noOperation },
  { mask: 0xff8f, match: 0x9408, make: (o) => setStatus(statusBit(o)) },
  { mask: 0xff8f, match: 0x9488, make: (o) => clearStatus(statusBit(o)) },
  {
    mask: 0xfc00,
    match: 0x1000,
    make: (o, next) => skipIf(next, (data) => data[destination(o)] === data[source(o)]),
  },
  {
    mask: 0xfe08,
    match: 0xfc00,
    make: (o, next) => {
      const [r, bit] = [destination(o), 1 << (o & 7)];
      return skipIf(next, (data) => ((data[r] as number) & bit) === 0);
    },
  },
  {
    mask: 0xfe08,
    match: 0xfe00,
    make: (o, next) => {
      const [r, bit] = [destination(o), 1 << (o & 7)];
      return skipIf(next, (data) => ((data[r] as number) & bit) !== 0);
    },
  },
  { mask: 0xff00, match: 0x9900, make: (o, next) => skipIfPort(o, next, false) },
  { mask: 0xff00, match: 0x9b00, make: (o, next) => skipIfPort(o, next, true) },
  { mask: 0xff00, match: 0x9800, make: (o) => writePortBit(o, false) },
  { mask: 0xff00, match: 0x9a00, make: (o) => writePortBit(o, true) },
];
