/** Which patterns detect which faults of a circuit that keeps no state: all faults, all patterns, two-valued. */
import type { FaultClasses } from "../collapse.ts";
import { type BitMachine, bitMachine } from "./bit-kernel.ts";
import { ROW_PATTERNS, ROW_WORDS } from "./bit-program.ts";
import { observationProgram } from "./observation-program.ts";
import type { PatternSet } from "./pattern-set.ts";

export interface Detections {
  readonly patternCount: number;
  /** Words of one class: patterns that detect class c from word c * wordsEach on, 32 a word. */
  readonly wordsEach: number;
  readonly words: Int32Array;
  /** The same of the nets' good values, by net. */
  readonly good: Int32Array;
}

export class PatternFaults {
  readonly classes: FaultClasses;
  /** Evaluations of gates it takes to try one pattern on all faults. */
  readonly gateEvaluations: number;
  readonly #machine: BitMachine;
  readonly #firstDetectionRow: number;

  /**
   * @param observed nets at which a difference counts; left out, the circuit's outputs
   * @throws Error for a circuit with feedback or flip-flops
   */
  constructor(classes: FaultClasses, observed: Iterable<number> = classes.circuit.outputs) {
    const { circuit } = classes;
    if (circuit.loops.length > 0 || circuit.flipFlopData.length > 0) {
      throw new Error(
        `${circuit.netlist.name} keeps state: what detects its faults is a sequence, not a pattern`,
      );
    }
    const { program, firstDetectionRow, gateEvaluations } = observationProgram(
      classes,
      new Set(observed),
    );
    this.classes = classes;
    this.gateEvaluations = gateEvaluations;
    this.#machine = bitMachine(program);
    this.#firstDetectionRow = firstDetectionRow;
  }

  /** @throws RangeError when the patterns are not of as many inputs as the circuit has */
  detect(patterns: PatternSet): Detections {
    const { circuit, classes } = this.classes;
    const { inputs, nets, netlist } = circuit;
    if (patterns.count > 0 && patterns.words.length !== inputs.length) {
      throw new RangeError(
        `patterns of ${patterns.words.length} inputs for ${netlist.name}, which has ${inputs.length}`,
      );
    }
    const wordsEach = Math.ceil(patterns.count / 32);
    const words = new Int32Array(classes.length * wordsEach);
    const good = new Int32Array(nets.length * wordsEach);
    const { words: rows, run } = this.#machine;
    for (let from = 0; from < patterns.count; from += ROW_PATTERNS) {
      const count = Math.min(ROW_PATTERNS, patterns.count - from);
      const begin = from / 32;
      const end = begin + Math.ceil(count / 32);
      for (const [index, net] of inputs.entries()) {
        const input = patterns.words[index];
        if (input) rows.set(input.subarray(begin, end), net * ROW_WORDS);
      }
      run();
      // Word by word: a call of `set` costs more than so few words.
      const take = (firstRow: number, count: number, target: Int32Array) => {
        for (let index = 0; index < count; index++) {
          const at = (firstRow + index) * ROW_WORDS;
          const to = index * wordsEach + begin;
          for (let word = 0; word < end - begin; word++)
            target[to + word] = rows[at + word] as number;
        }
      };
      take(0, nets.length, good);
      take(this.#firstDetectionRow, classes.length, words);
    }
    clearBeyond(patterns.count, wordsEach, words);
    clearBeyond(patterns.count, wordsEach, good);
    return { patternCount: patterns.count, wordsEach, words, good };
  }
}

/** Bits of the last word that stand for no pattern. */
function clearBeyond(count: number, wordsEach: number, words: Int32Array): void {
  if (count % 32 === 0) return;
  const mask = (1 << (count % 32)) - 1;
  for (let at = wordsEach - 1; at < words.length; at += wordsEach)
    words[at] = (words[at] as number) & mask;
}

/** The first pattern that detects a class, or null. */
export function firstDetection({ words, wordsEach }: Detections, index: number): number | null {
  for (let at = 0; at < wordsEach; at++) {
    const word = words[index * wordsEach + at] as number;
    if (word !== 0) return 32 * at + 31 - Math.clz32(word & -word);
  }
  return null;
}
