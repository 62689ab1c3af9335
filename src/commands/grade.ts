/**
 * `holdfast grade`: which faults a sequence, or vectors for a netlist, would notice, by the model. Touches no
 * port and energises nothing.
 */
import { writeFileSync } from "node:fs";
import { readBenchNetlist } from "../formats/bench-netlist.ts";
import { type FileProblem, problemLines } from "../formats/problem.ts";
import { readVectors } from "../formats/vectors.ts";
import { gradeStops } from "../logic/expect/grade-stops.ts";
import { collapse } from "../logic/faults/collapse.ts";
import { faultList } from "../logic/faults/fault-list.ts";
import { partFaults } from "../logic/faults/parts/part-faults.ts";
import { type Grade, grade } from "../logic/grade/grade.ts";
import { compileCircuit } from "../logic/netlist/circuit.ts";
import { coverageSvg } from "../pictures/svg-coverage.ts";
import { filledSteps, linesAtRest, modelProof } from "../plan/fill-expected.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { gradeLines } from "./grade/grade-lines.ts";
import type { Proof } from "./proof-folder.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { readProofFile } from "./read-proof-file.ts";
import { UsageError } from "./usage-error.ts";

export interface RawGradeOptions {
  readonly vectors?: string;
  readonly all?: boolean;
  readonly json?: boolean;
  readonly picture?: string;
}

type Outcome =
  | { readonly ok: true; readonly graded: Grade; readonly heading: string }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/**
 * @param place a folder with a proof, or a netlist that ends in .bench
 * @returns 0 where every fault that can be noticed is, 1 where one is not, 2 after every problem of the files
 * @throws UsageError when there is no such folder, no vectors for a netlist, or no place for the picture
 */
export async function gradeCommand(
  place: string,
  raw: RawGradeOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  const outcome = place.endsWith(".bench")
    ? await netlistGrade(place, raw.vectors)
    : await proofGrade(place, raw.vectors);
  if (outcome === null) return EXIT.wrongUsage;
  if (!outcome.ok) {
    for (const line of problemLines(outcome.problems)) io.error(line);
    return EXIT.wrongUsage;
  }
  const { graded, heading } = outcome;
  if (raw.picture !== undefined) writePicture(raw.picture, coverageSvg(graded));
  if (raw.json === true) io.out(JSON.stringify(asJson(graded)));
  else for (const line of gradeLines(graded, { all: raw.all === true, heading })) io.out(line);
  if (raw.picture !== undefined) io.error(`Drawn: ${raw.picture}`);
  const isMissed = ({ outcome: found }: { readonly outcome: string }) =>
    found === "undetected" || found === "possibly detected";
  return [...graded.parts, ...graded.classes].some(isMissed) ? EXIT.notPass : EXIT.pass;
}

async function proofGrade(folder: string, vectors: string | undefined): Promise<Outcome | null> {
  if (vectors !== undefined) {
    throw new UsageError("Expected --vectors with a netlist that ends in .bench alone.");
  }
  const proof = await proofOrProblems(folder);
  if (proof === null) return null;
  const heading = `Sequence ${proof.plan.sequence.name}, warm-up and one pass`;
  return { ok: true, graded: gradeOfProof(proof), heading };
}

/** What the sequence of a proof would notice. */
function gradeOfProof({ documents, board }: Proof): Grade {
  const { logic, walk } = modelProof(documents, filledSteps(documents));
  const { circuit } = walk;
  return grade({
    classes: collapse(faultList(circuit)),
    parts: partFaults(board, logic, circuit),
    stops: gradeStops(walk),
    atRest: linesAtRest(documents, logic.lines),
    unknownNets: logic.unknownNets,
  });
}

async function netlistGrade(path: string, vectorsPath: string | undefined): Promise<Outcome> {
  if (vectorsPath === undefined) {
    throw new UsageError(
      "Expected --vectors FILE for a netlist: a line a vector, one letter 0, 1 or X an input.",
    );
  }
  const read = await readProofFile(path, "proof");
  const given = await readProofFile(vectorsPath, "proof");
  if (!read.ok) return read;
  if (!given.ok) return given;
  const result = readBenchNetlist(read.file.text, path);
  if (!result.ok) return result;
  const { netlist } = result;
  const vectors = readVectors(given.file.text, vectorsPath, netlist.inputs.length);
  if (!vectors.ok) return vectors;
  const circuit = compileCircuit(netlist);
  const clocksAfter = netlist.flipFlops.length > 0 ? 1 : 0;
  const graded = grade({
    classes: collapse(faultList(circuit)),
    parts: [],
    stops: vectors.vectors.map((vector, index) => ({
      label: `vector ${index + 1}`,
      set: levelsOf(netlist.inputs, vector),
      reads: netlist.outputs,
      clocksAfter,
    })),
    atRest: {},
  });
  return { ok: true, graded, heading: `Netlist ${netlist.name}` };
}

/** An X leaves its input as the vector before had it. */
function levelsOf(inputs: readonly string[], vector: string): Record<string, "low" | "high"> {
  return Object.fromEntries(
    inputs.flatMap((input, index) => {
      const letter = vector[index];
      return letter === "X" ? [] : [[input, letter === "1" ? "high" : "low"] as const];
    }),
  );
}

function asJson({ parts, ...graded }: Grade) {
  return {
    ...graded,
    parts: parts.map(({ fault, ...one }) => {
      const { kind, part, position, text, unseen } = fault;
      return { kind, part, position, text, unseen, ...one };
    }),
  };
}

/** An SVG of the person's own is not overwritten by a slip of the hand. */
function writePicture(path: string, svg: string): void {
  try {
    writeFileSync(path, svg, { flag: "wx" });
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected a new file for the picture at "${path}", but ${why}.`);
  }
}
