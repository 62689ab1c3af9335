/** From a folder on disk to a proof: read, load and resolve, with every problem at once. */
import { createHash } from "node:crypto";
import { constants } from "node:fs";
import { open } from "node:fs/promises";
import { basename, dirname, join } from "node:path";
import type { Plan, PlanSource } from "../events/plan.ts";
import { type Board, loadBoard } from "../formats/board.schema.ts";
import { type Circuit, loadCircuit } from "../formats/circuit.schema.ts";
import { decodeText, FILE_SIZE_BYTES_MAX } from "../formats/decode-text.ts";
import type { LoadedDocument, LoadResult } from "../formats/load-document.ts";
import { type FileProblem, sortProblems } from "../formats/problem.ts";
import { loadRig, type Rig } from "../formats/rig.schema.ts";
import { loadSequence, type Sequence } from "../formats/sequence.schema.ts";
import { resolvePlan } from "../plan/resolve-plan.ts";

export type ProofRole = PlanSource["role"];

/** One file of a proof as read from disk. */
export interface ProofFile {
  readonly role: ProofRole;
  /** Path as it is to stand in messages. */
  readonly path: string;
  readonly text: string;
  /** SHA-256 of the bytes on disk, hex. */
  readonly sha256: string;
}

/** Files to use instead of those in the folder; paths as given by the person. */
export interface ProofChoice {
  readonly board?: string;
  readonly rig?: string;
  readonly sequence?: string;
}

/** Everything a run needs to know from files. */
export interface Proof {
  readonly plan: Plan;
  readonly board: Board;
  readonly rig: Rig;
  readonly sequence: Sequence;
  /** The simulated board; null when the rig names a port. */
  readonly circuit: Circuit | null;
}

type Outcome<T> =
  | ({ readonly ok: true } & T)
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

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

/** Resolve loaded files; null unless board, rig and sequence are all there. */
export function proofOf({ documents, files }: LoadedFiles): ProofResult | null {
  const { board, rig, sequence, circuit } = documents;
  if (!board || !rig || !sequence) return null;
  const sources = files.map(({ role, path, sha256 }) => ({ role, name: basename(path), sha256 }));
  const result = resolvePlan({ board, rig, sequence, sources });
  if (!result.ok) return result;
  const proof: Proof = {
    plan: result.plan,
    board: board.value,
    rig: rig.value,
    sequence: sequence.value,
    circuit: circuit?.value ?? null,
  };
  return { ok: true, proof };
}

interface ProofParts {
  readonly board?: LoadedDocument<Board>;
  readonly rig?: LoadedDocument<Rig>;
  readonly sequence?: LoadedDocument<Sequence>;
  readonly circuit?: LoadedDocument<Circuit>;
}

export interface LoadedFiles {
  /** The files given, and the circuit when the rig named one. */
  readonly files: readonly ProofFile[];
  readonly documents: ProofParts;
  readonly problems: readonly FileProblem[];
}

/** Load each file by its role; reads the circuit file that an emulated rig names. */
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
  const documents: ProofParts = {
    ...(board && { board }),
    ...(rig && { rig }),
    ...(sequence && { sequence }),
    ...(circuit && { circuit }),
  };
  return { files, documents, problems };
}

/** Read one file of at most 1 MiB; never reads a device, a pipe or a folder. `role` is for words. */
export async function readProofFile(
  path: string,
  role: ProofRole | "proof" | "settings",
): Promise<Outcome<{ readonly file: Omit<ProofFile, "role"> }>> {
  const read = await readBounded(path, role);
  if (!read.ok) return read;
  const decoded = decodeText(read.bytes, path);
  if (!decoded.ok) return decoded;
  const sha256 = createHash("sha256").update(read.bytes).digest("hex");
  return { ok: true, file: { path, text: decoded.text, sha256 } };
}

async function readBounded(
  path: string,
  role: ProofRole | "proof" | "settings",
): Promise<Outcome<{ readonly bytes: Uint8Array }>> {
  try {
    // Non-blocking, so that a pipe without a writer is refused instead of waited for.
    const handle = await open(path, constants.O_RDONLY | constants.O_NONBLOCK);
    try {
      const stat = await handle.stat();
      if (stat.isDirectory()) return unreadable(path, role, "EISDIR");
      if (!stat.isFile()) return unreadable(path, role, "not a file");
      const buffer = new Uint8Array(FILE_SIZE_BYTES_MAX + 1);
      let size = 0;
      while (size < buffer.length) {
        const { bytesRead } = await handle.read(buffer, size, buffer.length - size, size);
        if (bytesRead === 0) break;
        size += bytesRead;
      }
      return { ok: true, bytes: buffer.subarray(0, size) };
    } finally {
      await handle.close();
    }
  } catch (error) {
    if (error instanceof Error && "code" in error && typeof error.code === "string") {
      return unreadable(path, role, error.code);
    }
    throw error;
  }
}

/** Reasons by the operating system's code, in words. */
const UNREADABLE_WORDS: Readonly<Record<string, readonly [reason: string, whatToDo: string]>> = {
  ENOENT: ["no such file", "name a folder that holds it, or name the file itself"],
  ENOTDIR: ["a part of this path is no folder", "check the path"],
  EISDIR: ["a folder", "name the file in it"],
  EACCES: ["not permitted to read it", "change its permissions (`chmod u+r`) or its owner"],
  EPERM: ["not permitted to read it", "change its permissions (`chmod u+r`) or its owner"],
  ELOOP: ["its symbolic links go in a circle", "mend the link"],
  ENAMETOOLONG: ["the name is too long", "check the path"],
};

function unreadable(
  path: string,
  role: ProofRole | "proof" | "settings",
  why: string,
): { readonly ok: false; readonly problems: readonly FileProblem[] } {
  const [reason, whatToDo] = UNREADABLE_WORDS[why] ?? [
    `cannot be read (${why})`,
    "check that it is a plain file on a working disk",
  ];
  const problem: FileProblem = {
    code: "FILE_UNREADABLE",
    file: path,
    line: null,
    column: null,
    offending: "",
    reason: `${reason}, expected ${role === "proof" ? "a file of a proof" : `the ${role} file`}`,
    whatToDo,
  };
  return { ok: false, problems: [problem] };
}
