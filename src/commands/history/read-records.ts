/** Records of a run, as far as the index tells of it: any version, and what is none. */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { basename, join } from "node:path";
import { z } from "zod";
import { RECORD } from "../../record/seal/set-files.ts";
import type { RecordRow } from "../../store/run-index/tables.ts";
import { releasedFolders } from "../seal/released-folders.ts";

const record = z.object({
  format: z.literal("holdfast-record"),
  version: z.int(),
  status: z.string(),
  verdict: z.string(),
  journal: z.object({ lastHash: z.string() }),
});

/** The draft first, then the released ones, oldest first; empty where there is none. */
export function readRecords(runsFolder: string, run: string): RecordRow[] {
  const folder = join(runsFolder, run);
  const released = releasedFolders(folder).map(({ path }) => basename(path));
  return ["", ...released].flatMap((below) => {
    const bytes = bytesOf(join(folder, below, RECORD));
    return bytes === null ? [] : [rowOf({ run, folder: below }, bytes)];
  });
}

function rowOf(where: Pick<RecordRow, "run" | "folder">, bytes: Buffer): RecordRow {
  const parsed = record.safeParse(jsonOf(bytes));
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  const file = { ...where, sha256, bytes: bytes.length };
  if (!parsed.success) {
    return { ...file, version: null, status: "unreadable", verdict: null, journalHash: null };
  }
  const { version, status, verdict, journal } = parsed.data;
  return { ...file, version, status, verdict, journalHash: journal.lastHash };
}

function bytesOf(path: string): Buffer | null {
  try {
    return readFileSync(path);
  } catch (error) {
    if (error instanceof Error && "code" in error && error.code === "ENOENT") return null;
    throw error;
  }
}

function jsonOf(bytes: Buffer): unknown {
  try {
    return JSON.parse(bytes.toString("utf8"));
  } catch {
    // What is no JSON is no record; the schema says so.
    return null;
  }
}
