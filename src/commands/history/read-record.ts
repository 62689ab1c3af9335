/** The record of a run, the released one before the draft, as far as the index tells of it: any version, and what is none. */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { z } from "zod";
import type { RecordRow } from "../../store/run-index/tables.ts";
import { recordPath } from "../seal/released-folders.ts";

const record = z.object({
  format: z.literal("holdfast-record"),
  version: z.int(),
  status: z.string(),
  verdict: z.string(),
  journal: z.object({ lastHash: z.string() }),
});

/** @returns null where there is none */
export function readRecord(runsFolder: string, run: string): RecordRow | null {
  const bytes = bytesOf(recordPath(join(runsFolder, run)));
  if (bytes === null) return null;
  const parsed = record.safeParse(jsonOf(bytes));
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  const file = { run, sha256, bytes: bytes.length };
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
