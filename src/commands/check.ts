/**
 * `holdfast check`: read the files of a proof, say in words what they mean, or say everything that
 * is wrong in them. Touches no port and energises nothing.
 */
import { stat } from "node:fs/promises";
import { join } from "node:path";
import type { LoadResult } from "../formats/load-document.ts";
import { type FileProblem, problemLines, sortProblems } from "../formats/problem.ts";
import { loadUnit, type Unit } from "../formats/unit.schema.ts";
import { checkBoardAlone, checkRigOnBoard } from "../plan/check-alone.ts";
import { checkUnit } from "../plan/check-unit.ts";
import { findingLine, findingsOf } from "../plan/lint-proof.ts";
import { describeFiles, describeProof } from "./check/describe-proof.ts";
import { describeUnit } from "./check/describe-unit.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { filesByRole } from "./files-by-role.ts";
import { loadProof, type ProofResult, proofOf } from "./proof-folder.ts";
import { readProofFile } from "./read-proof-file.ts";

export interface CheckIo {
  /** One line of the answer. */
  readonly out: (line: string) => void;
  /** One line about what is wrong. */
  readonly error: (line: string) => void;
}

/**
 * Check one folder, or any of its files.
 *
 * @param paths a folder with board.yaml, rig.yaml and sequence.yaml; or files, told apart by their
 *   `format:` line. Files that do not make a whole proof are checked each by itself
 * @returns 0 when nothing is wrong, else 2
 */
export async function checkCommand(paths: readonly string[], io: CheckIo): Promise<ExitStatus> {
  const [first] = paths;
  if (first === undefined) {
    io.error("Name a folder that holds board.yaml, rig.yaml and sequence.yaml, or name files.");
    return EXIT.wrongUsage;
  }
  if (paths.length === 1 && (await isFolder(first))) {
    const unitPath = join(first, "unit.yaml");
    const unit = (await isFile(unitPath)) ? await readUnit(unitPath) : null;
    return tellOrRefuse(await loadProof(first), unit, io);
  }
  return checkFiles(paths, io);
}

async function checkFiles(paths: readonly string[], io: CheckIo): Promise<ExitStatus> {
  const { loaded, unit, problems: found } = await filesByRole(paths);
  const problems = [...found];
  if (unit !== null && !unit.ok) problems.push(...unit.problems);
  if (problems.length > 0) return refuse(problems, io);
  const result = proofOf(loaded);
  if (result !== null) return tellOrRefuse(result, unit, io);
  const { board, rig } = loaded.documents;
  const strange: FileProblem[] = [];
  if (board !== undefined) {
    strange.push(
      ...(rig === undefined ? checkBoardAlone({ board }) : checkRigOnBoard({ board, rig })),
    );
    if (unit?.ok) strange.push(...checkUnit(unit.document, board.value));
  }
  if (strange.length > 0) return refuse(strange, io);
  if (unit?.ok) {
    for (const line of describeUnit(unit.document.value)) io.out(line);
    if (loaded.files.length === 0) return EXIT.pass;
  }
  for (const line of describeFiles(loaded)) io.out(line);
  io.out(
    "Not a whole proof: board, rig and sequence together are needed to check names and volts.",
  );
  return EXIT.pass;
}

type UnitRead = LoadResult<Unit>;

async function readUnit(path: string): Promise<UnitRead> {
  const read = await readProofFile(path, "unit");
  return read.ok ? loadUnit(read.file.text, path) : read;
}

/** A proof in words, with the unit that lies beside it; or everything that is wrong in either. */
function tellOrRefuse(result: ProofResult, unit: UnitRead | null, io: CheckIo): ExitStatus {
  const ownProblems = [
    ...(result.ok ? [] : result.problems),
    ...(unit === null || unit.ok ? [] : unit.problems),
  ];
  if (!result.ok || ownProblems.length > 0) return refuse(ownProblems, io);
  const strange = unit?.ok ? checkUnit(unit.document, result.proof.board) : [];
  if (strange.length > 0) return refuse(strange, io);
  for (const line of describeProof(result.proof)) io.out(line);
  const findings = findingsOf(result.proof.documents).map(findingLine);
  if (findings.length > 0)
    io.out("What this proof does not do, by the model of the board's stages:");
  for (const line of findings) io.out(`  ${line}`);
  if (unit?.ok) for (const line of describeUnit(unit.document.value)) io.out(line);
  return EXIT.pass;
}

function refuse(problems: readonly FileProblem[], io: CheckIo): ExitStatus {
  for (const line of problemLines(sortProblems(problems))) io.error(line);
  const count = problems.length;
  io.error(
    count === 1 ? "1 problem, nothing was energised." : `${count} problems, nothing was energised.`,
  );
  return EXIT.wrongUsage;
}

async function isFile(path: string): Promise<boolean> {
  try {
    return (await stat(path)).isFile();
  } catch (error) {
    if (error instanceof Error && "code" in error) return false;
    throw error;
  }
}

async function isFolder(path: string): Promise<boolean> {
  try {
    return (await stat(path)).isDirectory();
  } catch (error) {
    // What is wrong with the path is said where it is read as a file.
    if (error instanceof Error && "code" in error) return false;
    throw error;
  }
}
