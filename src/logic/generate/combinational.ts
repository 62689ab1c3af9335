/**
 * Vectors for a circuit without feedback and without flip-flops: patterns by chance while they find
 * anything, then for each fault left a vector or the proof that there is none; of all those few that together
 * find everything, in the order in which they tell faults apart soonest.
 */
import type { Fault } from "../faults/fault.ts";
import { LANES_A_WORD } from "../lanes/lane-masks.ts";
import { Lanes } from "../lanes/lanes.ts";
import type { Circuit } from "../netlist/circuit.ts";
import { chance } from "./chance.ts";
import { type BitRow, bitCount, smallCover } from "./cover.ts";
import { faultFormula } from "./fault-formula.ts";
import { answersNow, splittingOrder } from "./fault-groups.ts";
import { satisfy } from "./satisfy.ts";

export interface CombinationalTask {
  readonly circuit: Circuit;
  /** One of each class of faults that no test tells apart is enough. */
  readonly faults: readonly Fault[];
  /** Nets that are read. */
  readonly observed: readonly number[];
  readonly seed: number;
  /** Dead ends of the search for one fault before it is left undecided; 100 000 when not given. */
  readonly conflictsMost?: number;
}

export interface CombinationalTest {
  /** Values of the inputs, 1 low, 2 high. */
  readonly vectors: readonly Uint8Array[];
  /** Of each fault, the first vector that finds it, or -1. */
  readonly foundBy: Int32Array;
  /** Faults, by index, of which it is proved that no vector finds them. */
  readonly untestable: readonly number[];
  /** Faults for which neither a vector nor a proof was found within the dead ends allowed. */
  readonly undecided: readonly number[];
}

const CONFLICTS_MOST = 100_000;
/** Up to so many inputs every vector is tried. */
const ALL_VECTORS_INPUTS = 10;
/** Evaluations of gates, 32 lanes each, that patterns by chance may cost: about two seconds. */
const CHANCE_EVALUATIONS = 1e8;
const CHANCE_VECTORS_MOST = 4096;
const CHANCE_VECTORS_LEAST = 64;

/** @throws Error when the circuit feeds back or has flip-flops */
export function combinationalTest(task: CombinationalTask): CombinationalTest {
  const { circuit, faults, observed, seed } = task;
  if (circuit.loops.length > 0 || circuit.flipFlopData.length > 0)
    throw new Error(
      `${circuit.netlist.name} keeps a state: its test is a walk, not a set of vectors`,
    );
  const next = chance(seed);
  const pool = new VectorPool(circuit, faults, observed);
  for (const vector of firstVectors(circuit, pool, next)) pool.add(vector);
  const untestable: number[] = [];
  const undecided: number[] = [];
  for (const [index, fault] of faults.entries()) {
    if (pool.isFound(index)) continue;
    const formula = faultFormula(circuit, fault, observed);
    const answer = satisfy(formula, {
      conflictsMost: task.conflictsMost ?? CONFLICTS_MOST,
      prefer: () => (next() < 0.5 ? 0 : 1),
    });
    if (answer.kind === "never true") untestable.push(index);
    else if (answer.kind === "not decided") undecided.push(index);
    else {
      const bit = (variable: number) =>
        variable === -1 ? (next() < 0.5 ? 1 : 2) : (answer.values[variable] ?? 0) + 1;
      pool.add(Uint8Array.from(formula.inputVariable, bit));
    }
  }
  const cover = smallCover(pool.rows, next).map((row) => pool.vectors[row] as Uint8Array);
  return { ...ordered(pool, cover, faults.length), untestable, undecided };
}

/** Every vector where they are few, else vectors by chance until the work set for them is done. */
function* firstVectors(
  circuit: Circuit,
  pool: VectorPool,
  next: () => number,
): Generator<Uint8Array> {
  const inputCount = circuit.inputs.length;
  if (inputCount <= ALL_VECTORS_INPUTS) {
    for (let number = 0; number < 2 ** inputCount; number++)
      yield Uint8Array.from({ length: inputCount }, (_, input) => ((number >> input) & 1) + 1);
    return;
  }
  const each = Math.max(1, circuit.gateOutput.length * pool.wordCount);
  const count = Math.min(
    CHANCE_VECTORS_MOST,
    Math.max(CHANCE_VECTORS_LEAST, Math.floor(CHANCE_EVALUATIONS / each)),
  );
  for (let number = 0; number < count; number++)
    yield Uint8Array.from({ length: inputCount }, () => (next() < 0.5 ? 1 : 2));
}

/** Vectors tried, and the faults each of them finds. */
class VectorPool {
  readonly vectors: Uint8Array[] = [];
  readonly rows: BitRow[] = [];
  readonly lanes: Lanes;
  readonly observed: readonly number[];
  readonly #found: Int32Array;

  constructor(circuit: Circuit, faults: readonly Fault[], observed: readonly number[]) {
    this.observed = observed;
    this.lanes = new Lanes(
      circuit,
      faults.map((fault) => [fault]),
    );
    this.#found = new Int32Array(this.lanes.wordCount);
  }

  get wordCount(): number {
    return this.lanes.wordCount;
  }

  add(vector: Uint8Array): void {
    this.lanes.step(vector);
    const row = this.lanes.read(this.observed).detected;
    if (bitCount(row) === 0) return;
    this.vectors.push(vector);
    this.rows.push(row);
    for (let word = 0; word < row.length; word++)
      this.#found[word] = (this.#found[word] as number) | (row[word] as number);
  }

  isFound(fault: number): boolean {
    return isSet(this.#found, fault + 1);
  }
}

function isSet(row: BitRow, lane: number): boolean {
  return (((row[Math.floor(lane / LANES_A_WORD)] ?? 0) >>> (lane % LANES_A_WORD)) & 1) === 1;
}

function ordered(
  { lanes, observed }: VectorPool,
  vectors: readonly Uint8Array[],
  faultCount: number,
): Pick<CombinationalTest, "vectors" | "foundBy"> {
  const answers = vectors.map((vector) => {
    lanes.step(vector);
    return answersNow(lanes, observed);
  });
  const order = splittingOrder(answers);
  const finds = (vector: number, fault: number) => answers[vector]?.[fault + 1] !== "";
  return {
    vectors: order.map((vector) => vectors[vector] as Uint8Array),
    foundBy: Int32Array.from({ length: faultCount }, (_, fault) =>
      order.findIndex((vector) => finds(vector, fault)),
    ),
  };
}
