/** A proof's findings with their places: what of it proves less than it seems to. */
import type { PlannedStep } from "../events/plan.ts";
import type { Finding } from "../logic/lint/finding.ts";
import { lintSequence } from "../logic/lint/lint-sequence.ts";
import { filterSettleMs, milliseconds } from "./divider-range.ts";
import { filledSteps, type ModelledProof, modelProof, type ProofSteps } from "./fill-expected.ts";
import { RELAY_SETTLE_MS } from "./fixed-wiring.ts";
import { channelName, type ProofDocuments } from "./proof-documents.ts";

/** A driver this quick is no contact, and does not bounce: milliseconds to operate. */
const NO_CONTACT_MS = 1;

/** A finding and where it is written; lines and columns from 1. */
export interface PlacedFinding extends Pick<Finding, "rule" | "why" | "whatToDo"> {
  readonly file: string;
  readonly line: number;
  readonly column: number;
}

/**
 * Findings of a proof that resolves.
 *
 * @param steps as the plan has them, every class filled in
 * @returns by file, line and column
 */
export function lintProof(
  documents: ProofDocuments,
  { logic, walk }: ModelledProof,
  steps: ProofSteps,
): PlacedFinding[] {
  const { board, rig, sequence } = documents;
  const steady = new Set(board.value.steadyLines ?? []);
  const contacts = rig.value.outputs.flatMap((output, index) =>
    output.drive === "changeover" &&
    (output.driverMs ?? Number.POSITIVE_INFINITY) > NO_CONTACT_MS &&
    !steady.has(output.line)
      ? [{ line: output.line, output: index }]
      : [],
  );
  const found = lintSequence({
    walk,
    unknownNets: logic.unknownNets,
    ...steps,
    contacts,
    needed: (step) => waitNeeded(documents, step),
  });
  const unknown = logic.problems.map(
    (problem): Finding => ({
      rule: "not modelled",
      file: "board",
      path: problem.path,
      part: "value",
      why: `${problem.reason}. What follows of the model is partial`,
      whatToDo: problem.whatToDo,
    }),
  );
  const placed = [...unknown, ...found].map((one) => {
    const { line, column } = documents[one.file].spot(one.path, one.part);
    const { rule, why, whatToDo } = one;
    return { rule, why, whatToDo, file: documents[one.file].file, line, column };
  });
  const files = [board.file, rig.file, sequence.file];
  return placed.sort(
    (a, b) =>
      files.indexOf(a.file) - files.indexOf(b.file) || a.line - b.line || a.column - b.column,
  );
}

/** The same from the files alone. */
export function findingsOf(documents: ProofDocuments): PlacedFinding[] {
  const steps = filledSteps(documents);
  return lintProof(documents, modelProof(documents, steps), steps);
}

/** `sequence.yaml:12:5: race: why; what to do`, one line. */
export function findingLine({ file, line, column, rule, why, whatToDo }: PlacedFinding): string {
  return `${file}:${line}:${column}: ${rule}: ${why}; ${whatToDo}`;
}

/** Contact, board and filter one after the other; nothing of it overlaps at its worst. */
function waitNeeded({ board, rig }: ProofDocuments, step: PlannedStep) {
  const nets = new Set(
    step.kind === "pattern"
      ? Object.keys(step.expect)
      : [...Object.keys(step.expect), ...Object.keys(step.flip.expect)],
  );
  const boardMs = board.value.slowestTimeConstantMs;
  const slowest = rig.value.channels
    .filter((channel) => nets.has(channelName(channel)))
    .map((channel) => ({ name: channelName(channel), ms: filterSettleMs(channel) }))
    .reduce((worst, one) => (one.ms > worst.ms ? one : worst), { name: "", ms: 0 });
  const filter = slowest.ms === 0 ? "" : ` + filter of ${slowest.name} ${milliseconds(slowest.ms)}`;
  return {
    ms: RELAY_SETTLE_MS + boardMs + slowest.ms,
    words: `relay ${milliseconds(RELAY_SETTLE_MS)} + the board's slowest time constant ${milliseconds(boardMs)}${filter}`,
  };
}
