/** The C loop beside this file, built and run on the program and the patterns of a job. */
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import type { FaultClasses } from "../../../src/logic/faults/collapse.ts";
import { ROW_PATTERNS, ROW_WORDS } from "../../../src/logic/faults/patterns/bit-program.ts";
import { observationProgram } from "../../../src/logic/faults/patterns/observation-program.ts";
import type { PatternSet } from "../../../src/logic/faults/patterns/pattern-set.ts";

const SOURCE = join(import.meta.dirname, "bit-loop.c");

export interface CompiledLoop {
  /** Microseconds of processor time a job, and what it found. */
  run(jobs: number): { readonly us: number; readonly first: readonly number[] };
}

/** @param folder for the program and its data; @param patterns a multiple of `ROW_PATTERNS` */
export function compiledLoop(
  classes: FaultClasses,
  patterns: PatternSet,
  folder: string,
): CompiledLoop {
  const { circuit } = classes;
  const { program, firstDetectionRow } = observationProgram(classes, new Set(circuit.outputs));
  const blocks = patterns.count / ROW_PATTERNS;
  const head = [
    program.instructions.length / 4,
    program.rowCount,
    circuit.inputs.length,
    firstDetectionRow,
    classes.classes.length,
    blocks,
  ];
  const inputs = Array.from({ length: blocks }, (_, block) =>
    patterns.words.map((words) => words.subarray(block * ROW_WORDS, (block + 1) * ROW_WORDS)),
  );
  const data = join(folder, "job.bin");
  const parts = [Int32Array.from(head), program.instructions, ...inputs.flat()];
  writeFileSync(data, Buffer.concat(parts.map((part) => new Uint8Array(part.slice().buffer))));
  const built = join(folder, "bit-loop");
  execFileSync("cc", ["-O2", "-o", built, SOURCE]);
  return {
    run: (jobs) => {
      const answer = execFileSync(built, [data, `${jobs}`], { maxBuffer: 1 << 24 }).toString();
      const [us = Number.NaN, ...first] = answer.trim().split("\n").map(Number);
      return { us, first };
    },
  };
}
