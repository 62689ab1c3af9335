/** From a folder on disk to a proof: read, load and resolve, with every problem at once. */
import { basename, dirname, join } from "node:path";
import { createRealClock } from "../clock/real-clock.ts";
import type { Plan } from "../events/plan.ts";
import { type Board, loadBoard } from "../formats/board.schema.ts";
import { type Calibration, loadCalibration } from "../formats/calibration.schema.ts";
import { type Circuit, loadCircuit } from "../formats/circuit.schema.ts";
import type { LoadedDocument, LoadResult } from "../formats/load-document.ts";
import { type FileProblem, sortProblems } from "../formats/problem.ts";
import { loadRig, type Rig } from "../formats/rig.schema.ts";
import { loadSequence, type Sequence } from "../formats/sequence.schema.ts";
import type { ProofDocuments } from "../plan/proof-documents.ts";
import { resolvePlan } from "../plan/resolve-plan.ts";
import { newestCalibration } from "./newest-calibration.ts";
import { type Outcome, type ProofFile, type ProofRole, readProofFile } from "./read-proof-file.ts";

/** Files to use instead of those in the folder; paths as given by the person. */
export interface ProofChoice {
  readonly board?: string;
  readonly rig?: string;
  readonly sequence?: string;
}

/** Everything a run needs to know from files. */
export interface Proof {
  readonly plan: Plan;
  /** The three files with the places of what stands in them. */
  readonly documents: ProofDocuments;
  readonly board: Board;
  readonly rig: Rig;
  readonly sequence: Sequence;
  /** The simulated board; null when the rig names a port. */
  readonly circuit: Circuit | null;
  /** The newest calibration beside the rig file, whether it counts or not. */
  readonly calibration: Calibration | null;
  /** The files it was read from, as they were then. */
  readonly files: readonly ProofFile[];
}

export type ProofResult = Outcome<{ readonly proof: Proof }>;

/**
 * Read board.yaml, rig.yaml and sequence.yaml of a folder. A missing, unreadable, too large or
 * binary file is a problem of its own; the others are still read.
 */
export async function readProofFolder(
  folder: string,
  choice: ProofChoice = {},
): Promise<{ readonly files: readonly ProofFile[]; readonly problems: readonly FileProblem[] }> {
  const roles = ["board", "rig", "sequence"] as const;
  const read = await Promise.all(
    roles.map(async (role) => {
      const one = await readProofFile(choice[role] ?? join(folder, `${role}.yaml`), role);
      return { role, one };
    }),
  );
  return {
    files: read.flatMap(({ role, one }) => (one.ok ? [{ ...one.file, role }] : [])),
    problems: read.flatMap(({ one }) => (one.ok ? [] : one.problems)),
  };
}

/** Load and resolve the proof of a folder; the circuit stands beside the rig file that names it. */
export async function loadProof(folder: string, choice: ProofChoice = {}): Promise<ProofResult> {
  const { files, problems } = await readProofFolder(folder, choice);
  const loaded = await loadProofFiles(files);
  const all = [...problems, ...loaded.problems];
  if (all.length > 0) return { ok: false, problems: sortProblems(all) };
  const result = proofOf(loaded);
  if (result === null) throw new RangeError("a file without problems gave no document");
  return result;
}

/** Day it is by this computer, UTC, such as 2026-05-01. */
function today(): string {
  return createRealClock().wallTime().slice(0, "2026-05-01".length);
}

/** Resolve loaded files; null unless board, rig and sequence are all there. */
export function proofOf({ documents, files }: LoadedFiles, day = today()): ProofResult | null {
  const { board, rig, sequence, circuit, calibration } = documents;
  if (!board || !rig || !sequence) return null;
  const sources = files.map(({ role, path, sha256 }) => ({ role, name: basename(path), sha256 }));
  const sha256 = files.find(({ role }) => role === "calibration")?.sha256 ?? "";
  const found = calibration && { value: calibration.value, sha256 };
  const calibrated = found === undefined ? null : { calibration: found, today: day };
  const result = resolvePlan({ board, rig, sequence, sources, calibrated });
  if (!result.ok) return result;
  const proof: Proof = {
    plan: result.plan,
    documents: { board, rig, sequence },
    board: board.value,
    rig: rig.value,
    sequence: sequence.value,
    circuit: circuit?.value ?? null,
    calibration: calibration?.value ?? null,
    files,
  };
  return { ok: true, proof };
}

interface ProofParts {
  readonly board?: LoadedDocument<Board>;
  readonly rig?: LoadedDocument<Rig>;
  readonly sequence?: LoadedDocument<Sequence>;
  readonly circuit?: LoadedDocument<Circuit>;
  readonly calibration?: LoadedDocument<Calibration>;
}

export interface LoadedFiles {
  /** The files given, the circuit when the rig named one, and the rig's newest calibration. */
  readonly files: readonly ProofFile[];
  readonly documents: ProofParts;
  readonly problems: readonly FileProblem[];
}

/**
 * Load each file by its role; reads the circuit file that an emulated rig names, and the calibration
 * that lies beside the rig file.
 */
export async function loadProofFiles(given: readonly ProofFile[]): Promise<LoadedFiles> {
  const files = [...given];
  const problems: FileProblem[] = [];
  const load = <T>(role: ProofRole, loader: (text: string, name: string) => LoadResult<T>) => {
    const file = files.find((one) => one.role === role);
    if (file === undefined) return undefined;
    const result = loader(file.text, file.path);
    if (result.ok) return result.document;
    problems.push(...result.problems);
    return undefined;
  };
  const board = load("board", loadBoard);
  const rig = load("rig", loadRig);
  const sequence = load("sequence", loadSequence);
  const named = rig?.value.bench.kind === "emulated" ? rig.value.bench.circuit : null;
  if (rig !== undefined && named !== null && !files.some((file) => file.role === "circuit")) {
    const read = await readProofFile(join(dirname(rig.file), named), "circuit");
    if (read.ok) files.push({ ...read.file, role: "circuit" });
    else problems.push(...read.problems);
  }
  const circuit = load("circuit", loadCircuit);
  let calibration = load("calibration", loadCalibration);
  if (rig !== undefined && !files.some((file) => file.role === "calibration")) {
    const newest = await newestCalibration(rig.file, rig.value.rig);
    problems.push(...newest.problems);
    if (newest.found !== null) {
      files.push(newest.found.file);
      calibration = newest.found.document;
    }
  }
  const documents: ProofParts = {
    ...(board && { board }),
    ...(rig && { rig }),
    ...(sequence && { sequence }),
    ...(circuit && { circuit }),
    ...(calibration && { calibration }),
  };
  return { files, documents, problems };
}
