/** What the files of a proof mean, in words, line by line. */
import type { Circuit } from "../../formats/circuit.schema.ts";
import type { LoadedFiles, Proof } from "../proof-folder.ts";
import { boardHeading, describeBoard } from "./describe-board.ts";
import { describeCalibration } from "./describe-calibration.ts";
import { describeRig } from "./describe-rig.ts";
import { describeSequence } from "./describe-sequence.ts";

/** The whole proof as lines of plain text. */
export function describeProof({ plan, board, rig, sequence, calibration }: Proof): string[] {
  return [
    boardHeading(board),
    ...plan.sources.map(({ role, name, sha256 }) => `  ${role} ${name}, sha256 ${sha256}`),
    ...describeBoard(board),
    ...describeRig(rig),
    ...(calibration === null ? [] : describeCalibration(calibration)),
    ...describeSequence(sequence, plan.estimatedPassMs),
    "The record will say:",
    ...plan.claims.map((claim) => `  ${claim}`),
  ];
}

/** Files that make no whole proof, each by itself. */
export function describeFiles({ files, documents }: LoadedFiles): string[] {
  const { board, rig, sequence, circuit, calibration } = documents;
  return [
    ...files.map(({ role, path, sha256 }) => `${path}: a ${role} file, sha256 ${sha256}`),
    ...(board === undefined ? [] : [boardHeading(board.value), ...describeBoard(board.value)]),
    ...(rig === undefined ? [] : [...describeRig(rig.value), `  for board ${rig.value.board}`]),
    ...(sequence === undefined
      ? []
      : [...describeSequence(sequence.value, null), `  for board ${sequence.value.board}`]),
    ...(circuit === undefined ? [] : [circuitWords(circuit.value)]),
    ...(calibration === undefined ? [] : describeCalibration(calibration.value)),
  ];
}

function circuitWords({ circuit, parts }: Circuit): string {
  const counts = new Map<string, number>();
  for (const { kind } of parts) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  const words = [...counts].map(([kind, count]) => `${count} ${kind}${count === 1 ? "" : "s"}`);
  return `Circuit ${circuit} for the emulated bench: ${words.join(", ")}`;
}
