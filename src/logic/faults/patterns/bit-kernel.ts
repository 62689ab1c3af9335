/**
 * The loop that obeys a bit program, as WebAssembly, where one operation takes 128 patterns. It is put together
 * here byte by byte, as it is one loop of nine cases: for each, load two vectors, combine them, store one.
 *
 * @source WebAssembly Core Specification 2.0, chapter 5, Binary Format (opcodes from memory; a wrong one is
 *   refused by the engine or seen by the tests, which obey the same programs word by word)
 */
import { type BitProgram, OPERATIONS, type Operation, ROW_WORDS } from "./bit-program.ts";

const ROW_BYTES = 4 * ROW_WORDS;
const VECTOR_BYTES = 16;
const PAGE_BYTES = 65_536;
const INSTRUCTION_BYTES = 16;

export interface BitMachine {
  /** The program's rows, `ROW_WORDS` words each, read and written in place. */
  readonly words: Int32Array;
  /** Obey the whole program once. */
  run(): void;
}

/** A program with rows of its own, all 0. */
export function bitMachine({ instructions, rowCount }: BitProgram): BitMachine {
  const rowBytes = rowCount * ROW_BYTES;
  const end = rowBytes + 4 * instructions.length;
  const memory = new WebAssembly.Memory({ initial: Math.ceil(end / PAGE_BYTES) });
  const { exports } = new WebAssembly.Instance(kernel(), { own: { memory } });
  const obey = exports["obey"] as (from: number, to: number) => void;
  const places = new Int32Array(memory.buffer, rowBytes, instructions.length);
  places.set(instructions.map((part, index) => (index % 4 === 0 ? part : part * ROW_BYTES)));
  return {
    words: new Int32Array(memory.buffer, 0, rowCount * ROW_WORDS),
    run: () => {
      if (instructions.length > 0) obey(rowBytes, end);
    },
  };
}

let compiled: WebAssembly.Module | null = null;

function kernel(): WebAssembly.Module {
  compiled ??= new WebAssembly.Module(Uint8Array.from(moduleBytes()));
  return compiled;
}

const TYPE = { i32: 0x7f, function: 0x60, none: 0x40 } as const;
const SECTION = { type: 1, import: 2, function: 3, export: 7, code: 10 } as const;
const OP = {
  block: 0x02,
  loop: 0x03,
  end: 0x0b,
  br: 0x0c,
  brIf: 0x0d,
  brTable: 0x0e,
  get: 0x20,
  set: 0x21,
  tee: 0x22,
  load: 0x28,
  const: 0x41,
  notEqual: 0x47,
  add: 0x6a,
  vector: 0xfd,
} as const;
const VECTOR = { load: 0x00, store: 0x0b, not: 0x4d, and: 0x4e, andNot: 0x4f, or: 0x50, xor: 0x51 };
/** Parameters, then locals of the function. */
const LOCAL = { at: 0, to: 1, target: 2, first: 3, second: 4 } as const;

function moduleBytes(): number[] {
  const section = (id: number, body: number[]) => [id, ...sized(body)];
  const oneOf = (item: number[]) => [1, ...item];
  const body = [...oneOf([3, TYPE.i32]), ...loopBody(), OP.end];
  return [
    ...[0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
    ...section(SECTION.type, oneOf([TYPE.function, 2, TYPE.i32, TYPE.i32, 0])),
    ...section(SECTION.import, oneOf([...text("own"), ...text("memory"), 2, 0, 1])),
    ...section(SECTION.function, oneOf([0])),
    ...section(SECTION.export, oneOf([...text("obey"), 0, 0])),
    ...section(SECTION.code, oneOf(sized(body))),
  ];
}

/** `do { obey the instruction at `at` } while ((at += 16) !== to)`. */
function loopBody(): number[] {
  const part = (index: number) => [OP.get, LOCAL.at, OP.load, 2, 4 * index];
  return [
    ...[OP.loop, TYPE.none],
    ...[LOCAL.target, LOCAL.first, LOCAL.second].flatMap((local, index) => [
      ...part(index + 1),
      ...[OP.set, local],
    ]),
    ...cases(part(0)),
    ...[OP.get, LOCAL.at, OP.const, INSTRUCTION_BYTES, OP.add, OP.tee, LOCAL.at],
    ...[OP.get, LOCAL.to, OP.notEqual, OP.brIf, 0, OP.end],
  ];
}

/** A block around each case: leaving the innermost so many leads to its case, the outermost past them all. */
function cases(operation: number[]): number[] {
  const bodies = Object.values(OPERATIONS)
    .sort((a, b) => a - b)
    .map(caseBody);
  const count = bodies.length;
  return [
    ...Array.from({ length: count + 1 }, () => [OP.block, TYPE.none]).flat(),
    ...operation,
    ...[OP.brTable, count, ...bodies.keys(), count, OP.end],
    ...bodies.flatMap((body, index) => [...body, OP.br, count - 1 - index, OP.end]),
  ];
}

function caseBody(operation: Operation): number[] {
  const vectors = Array.from({ length: ROW_BYTES / VECTOR_BYTES }, (_, index) => index);
  return vectors.flatMap((index) => {
    // The alignment is a hint, as a power of two.
    const place = [4, index * VECTOR_BYTES];
    const load = (local: number) => [OP.get, local, OP.vector, VECTOR.load, ...place];
    const [combine, takesTwo] = COMBINE[operation];
    return [
      ...[OP.get, LOCAL.target],
      ...load(LOCAL.first),
      ...(takesTwo ? load(LOCAL.second) : []),
      ...combine.flatMap((code) => [OP.vector, code]),
      ...[OP.vector, VECTOR.store, ...place],
    ];
  });
}

const { and, nand, or, nor, xor, xnor, copy, not, andNot } = OPERATIONS;

/** How an operation combines its vectors, and whether it takes two. */
const COMBINE: Readonly<Record<Operation, readonly [readonly number[], boolean]>> = {
  [and]: [[VECTOR.and], true],
  [nand]: [[VECTOR.and, VECTOR.not], true],
  [or]: [[VECTOR.or], true],
  [nor]: [[VECTOR.or, VECTOR.not], true],
  [xor]: [[VECTOR.xor], true],
  [xnor]: [[VECTOR.xor, VECTOR.not], true],
  [copy]: [[], false],
  [not]: [[VECTOR.not], false],
  [andNot]: [[VECTOR.andNot], true],
};

function text(ascii: string): number[] {
  return sized([...ascii].map((letter) => letter.charCodeAt(0)));
}

/** A body after its length, in groups of seven bits, the lowest first (LEB128). */
function sized(body: number[]): number[] {
  const length: number[] = [];
  let left = body.length;
  for (; left > 0x7f; left >>>= 7) length.push((left & 0x7f) | 0x80);
  return [...length, left, ...body];
}
