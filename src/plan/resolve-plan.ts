/** Board, rig and sequence resolved into one plan, or every reason why not. */
import type { Plan, PlanSource } from "../events/plan.ts";
import type { FileProblem } from "../formats/problem.ts";
import type { Calibrated } from "./apply-calibration.ts";
import { buildPlan } from "./build-plan.ts";
import { checkBoardAndRig } from "./check-alone.ts";
import { checkSequence } from "./check-sequence.ts";
import { cycleOf, fillExpected } from "./fill-expected.ts";
import { countSteps, flattenSteps, STEPS_MAX } from "./flatten-steps.ts";
import { noteContradictions } from "./note-contradictions.ts";
import { ProblemList } from "./problem-list.ts";
import { boardNames, type ProofDocuments } from "./proof-documents.ts";

export type PlanResult =
  | { readonly ok: true; readonly plan: Plan }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/**
 * Resolve a proof.
 *
 * @param files the three loaded files, for the record the names and hashes of all that went in, and the
 *   calibration of the rig with the day of the plan; without a day there is no calibration
 * @returns the plan, in which every name exists and nothing is beyond a ceiling; or every problem
 *   of all three files, board first, each with its place. Never throws for files that loaded
 */
export function resolvePlan(
  files: ProofDocuments & {
    readonly sources: readonly PlanSource[];
    readonly calibrated?: Calibrated | null;
  },
): PlanResult {
  const { board, rig, sequence, sources, calibrated = null } = files;
  const documents = { board, rig, sequence };
  const problems = new ProblemList();
  const names = boardNames(board.value);
  checkBoardAndRig(documents, names, problems);
  const stepCount = countSteps(sequence.value);
  if (stepCount > STEPS_MAX) {
    problems.add(sequence, ["steps"], {
      code: "STEPS_TOO_MANY",
      part: "key",
      reason: `one pass would have ${stepCount} steps, expected at most ${STEPS_MAX}`,
      whatToDo: "repeat less often in one pass",
    });
    return { ok: false, problems: inFileOrder(documents, problems) };
  }
  const written = { pass: flattenSteps(sequence.value), cycle: cycleOf(documents) };
  // The model follows names, so it is asked only where they agree.
  const filled = problems.empty ? fillExpected(documents, written, problems) : written;
  checkSequence(documents, names, filled, problems);
  if (!problems.empty) return { ok: false, problems: inFileOrder(documents, problems) };
  const noted = noteContradictions(documents, filled);
  const steps = noted.pass.map((placed) => placed.step);
  const cycle = noted.cycle.map((placed) => placed.step);
  return { ok: true, plan: buildPlan(documents, { steps, cycle }, { sources, calibrated }) };
}

function inFileOrder(documents: ProofDocuments, problems: ProblemList): FileProblem[] {
  const sorted = problems.sorted();
  const files = [documents.board.file, documents.rig.file, documents.sequence.file];
  return [...new Set(files)].flatMap((file) => sorted.filter((problem) => problem.file === file));
}
