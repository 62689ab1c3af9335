/** What a circuit that keeps no state answers to every pattern under every fault: the fault dictionary. */
import type { FaultClasses } from "../collapse.ts";
import { PatternFaults } from "./pattern-faults.ts";
import type { PatternSet } from "./pattern-set.ts";

export interface FaultDictionary {
  /** Answer to each pattern without a fault: outputs in order, `0` and `1`. */
  readonly good: readonly string[];
  /** Of each class, its answer to each pattern. */
  readonly faulty: readonly (readonly string[])[];
}

/**
 * The whole dictionary. It has as many signs as outputs times patterns times classes: for small circuits.
 *
 * @throws Error for a circuit with feedback or flip-flops
 */
export function faultDictionary(classes: FaultClasses, patterns: PatternSet): FaultDictionary {
  const { outputs } = classes.circuit;
  // Seen at one output alone, a fault is detected where that output answers otherwise.
  const perOutput = [...outputs].map((net) => ({
    net,
    ...new PatternFaults(classes, [net]).detect(patterns),
  }));
  const answers = (faultBits: (output: (typeof perOutput)[number], at: number) => number) =>
    Array.from({ length: patterns.count }, (_, pattern) =>
      perOutput
        .map((output) => {
          const at = pattern >> 5;
          const good = output.good[output.net * output.wordsEach + at] as number;
          return ((good ^ faultBits(output, at)) >>> pattern) & 1;
        })
        .join(""),
    );
  return {
    good: answers(() => 0),
    faulty: classes.classes.map((_, index) =>
      answers(({ words, wordsEach }, at) => words[index * wordsEach + at] as number),
    ),
  };
}
