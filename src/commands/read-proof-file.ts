/** One file of a proof from disk: its text and hash, or what is wrong with it. */
import { createHash } from "node:crypto";
import { constants } from "node:fs";
import { open } from "node:fs/promises";
import type { PlanSource } from "../events/plan.ts";
import { decodeText, FILE_SIZE_BYTES_MAX } from "../formats/decode-text.ts";
import type { FileProblem } from "../formats/problem.ts";

export type ProofRole = PlanSource["role"];

/** What a file is, for words. */
type FileRole = ProofRole | "proof" | "settings" | "notes" | "scenario";

/** One file of a proof as read from disk. */
export interface ProofFile {
  readonly role: ProofRole;
  /** Path as it is to stand in messages. */
  readonly path: string;
  readonly text: string;
  /** As they lie on disk. */
  readonly bytes: Uint8Array;
  /** SHA-256 of the bytes on disk, hex. */
  readonly sha256: string;
}

export type Outcome<T> =
  | ({ readonly ok: true } & T)
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/** Read one file of at most 1 MiB; never reads a device, a pipe or a folder. `role` is for words. */
export async function readProofFile(
  path: string,
  role: FileRole,
): Promise<Outcome<{ readonly file: Omit<ProofFile, "role"> }>> {
  const read = await readBounded(path, role);
  if (!read.ok) return read;
  const decoded = decodeText(read.bytes, path);
  if (!decoded.ok) return decoded;
  const sha256 = createHash("sha256").update(read.bytes).digest("hex");
  return { ok: true, file: { path, text: decoded.text, bytes: read.bytes, sha256 } };
}

async function readBounded(
  path: string,
  role: FileRole,
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
  role: FileRole,
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
