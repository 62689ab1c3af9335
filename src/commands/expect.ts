/**
 * `holdfast expect`: what every net of a board must do at every stop of its sequence, by the model of its
 * stages. Touches no port and energises nothing.
 */
import { existsSync, writeFileSync } from "node:fs";
import type { PlannedStep } from "../events/plan.ts";
import { type ClassesAt, withClasses } from "../formats/fill-classes.ts";
import { problemLines } from "../formats/problem.ts";
import {
  cycleOf,
  fillExpected,
  type ModelledProof,
  modelProof,
  type ProofSteps,
} from "../plan/fill-expected.ts";
import { flattenSteps } from "../plan/flatten-steps.ts";
import { findingLine, lintProof, type PlacedFinding } from "../plan/lint-proof.ts";
import { ProblemList } from "../plan/problem-list.ts";
import type { ProofDocuments } from "../plan/proof-documents.ts";
import { writeFileAtomically } from "../store/atomic-file.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { expectedStops, stopLines } from "./expect/expected-stops.ts";
import { initialisingOf, settlingLines, settlingOf } from "./expect/settling-words.ts";
import { loadProofFiles, proofOf, readProofFolder } from "./proof-folder.ts";
import { NoSuchFolder, UsageError } from "./usage-error.ts";

export interface RawExpectOptions {
  readonly json?: boolean;
  /** Write classes that the sequence leaves out into its file. */
  readonly fill?: boolean;
  /** Write them into this new file instead. */
  readonly out?: string;
  /** Tell nets as well that may pulse on the way and end where they were. */
  readonly pulses?: boolean;
}

/**
 * @param folder with board.yaml, rig.yaml and sequence.yaml
 * @returns 0; 1 where the sequence contradicts the model; 2 after every problem of the files has been said
 * @throws UsageError when there is no such folder, or no place for the copy
 */
export async function expectCommand(
  folder: string,
  { json, fill, out, pulses }: RawExpectOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  if (!existsSync(folder)) {
    throw new NoSuchFolder(
      folder,
      `Expected a folder with a proof, got "${folder}": there is none.`,
    );
  }
  const { files, problems } = await readProofFolder(folder);
  const loaded = await loadProofFiles(files);
  const unread = [...problems, ...loaded.problems];
  const { board, rig, sequence } = loaded.documents;
  if (unread.length > 0 || !board || !rig || !sequence) return refused(unread, io);
  const documents: ProofDocuments = { board, rig, sequence };
  const written = { pass: flattenSteps(sequence.value), cycle: cycleOf(documents) };
  const filled = fillExpected(documents, written, new ProblemList());
  const model = modelProof(documents, filled);
  const findings = lintProof(documents, model, filled);
  if (json === true) io.out(JSON.stringify(asJson(model, findings)));
  else for (const line of asLines(model, findings, pulses === true)) io.out(line);
  const resolved = proofOf(loaded);
  if (resolved !== null && !resolved.ok) return refused(resolved.problems, io);
  if (fill === true || out !== undefined) {
    const file = files.find(({ role }) => role === "sequence");
    if (file === undefined) throw new RangeError("a sequence that loaded has no file");
    const { places, left } = placesToFill(written, filled);
    const text = withClasses(file.text, places);
    if (out === undefined) writeFileAtomically(file.path, text);
    else writeCopy(out, text);
    const to = out ?? file.path;
    io.error(
      `Filled in ${places.length === 1 ? "1 place" : `${places.length} places`} of ${to}; read them before you prove anything: they are the model's word, and from now on yours.`,
    );
    for (const label of left) {
      io.error(`Left out: ${label} comes to other classes in other rounds; split the repeat.`);
    }
  }
  const disagrees = findings.some(({ rule }) => rule === "model disagrees");
  return disagrees ? EXIT.notPass : EXIT.pass;
}

function refused(problems: Parameters<typeof problemLines>[0], io: CheckIo): ExitStatus {
  for (const line of problemLines(problems)) io.error(line);
  return EXIT.wrongUsage;
}

function asLines(
  model: ModelledProof,
  findings: readonly PlacedFinding[],
  pulses: boolean,
): string[] {
  const { logic } = model;
  return [
    ...stopLines(expectedStops(model)),
    ...settlingLines(initialisingOf(model), settlingOf(model), {
      circuit: model.walk.circuit,
      pulses,
    }),
    ...(logic.problems.length === 0
      ? []
      : ["This is a partial result: some of the board is not modelled."]),
    ...findings.map(findingLine),
  ];
}

function asJson(model: ModelledProof, findings: readonly PlacedFinding[]) {
  const { logic } = model;
  return {
    board: logic.netlist.name,
    partial: logic.problems.length > 0,
    unknownNets: logic.unknownNets,
    initialising: initialisingOf(model),
    stops: expectedStops(model),
    settling: settlingOf(model),
    findings,
  };
}

/** An own file is not overwritten by a slip of the hand. */
function writeCopy(path: string, text: string): void {
  try {
    writeFileSync(path, text, { flag: "wx", flush: true });
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected a new file for the sequence at "${path}", but ${why}.`);
  }
}

/** Places of the file whose classes were left out, once each; those that differ from round to round left out. */
function placesToFill(written: ProofSteps, filled: ProofSteps) {
  const places = new Map<string, ClassesAt>();
  const left = new Set<string>();
  const take = (path: ClassesAt["path"], classes: ClassesAt["classes"], label: string): void => {
    const key = path.join("\0");
    const before = places.get(key);
    if (before === undefined) places.set(key, { path, classes });
    else if (JSON.stringify(before.classes) !== JSON.stringify(classes))
      left.add(`${key}\n${label}`);
  };
  const all = [...filled.pass, ...filled.cycle];
  for (const [index, { step, path, unchanged }] of [...written.pass, ...written.cycle].entries()) {
    const done: PlannedStep | undefined = all[index]?.step;
    if (done === undefined || unchanged === true) continue;
    if (step.modelled === true) take(path, done.expect, `"${step.name}"`);
    if (step.kind === "hold" && done.kind === "hold" && step.flip.modelled === true) {
      take([...path, "flip"], done.flip.expect, `the flip of "${step.name}"`);
    }
  }
  const leftKeys = new Set([...left].map((one) => one.split("\n")[0]));
  return {
    places: [...places].flatMap(([key, place]) => (leftKeys.has(key) ? [] : [place])),
    left: [...left].map((one) => one.split("\n")[1] ?? ""),
  };
}
