/**
 * Checks of rigs as they were made: one JSON file a check beside the runs, never written over. The
 * newest of a rig is named by every run on it.
 */
import { createHash } from "node:crypto";
import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { z } from "zod";
import type { RigCheckName, RigFacts, RigFinding } from "../events/rig-check.ts";
import { rigFacts, rigFinding } from "../journal/rig-check.schema.ts";
import { writeFileAtomically } from "./atomic-file.ts";

const FORMAT = "holdfast-rig-check";
const VERSION = 1;
const SUFFIX = ".rig-check.json";

export interface RigCheck {
  readonly rig: string;
  readonly board: string;
  /** SHA-256 of the rig file that was checked. */
  readonly rigSha256: string;
  /** Of the controller that checked it. */
  readonly controller: { readonly serial: string; readonly firmware: string };
  /** Wall time, ISO 8601. */
  readonly at: string;
  /** Run that made it; its journal has the whole of it. */
  readonly run: string;
  readonly fit: boolean;
  readonly findings: readonly RigFinding[];
  readonly facts: RigFacts;
}

/** A check as it was kept, and what it is named by. */
export interface KeptRigCheck {
  readonly check: RigCheck;
  /** First hex digits of the file's SHA-256. */
  readonly id: string;
}

const ID_DIGITS = 12;
const text = z.string();
const schema = z.strictObject({
  format: z.literal(FORMAT),
  version: z.literal(VERSION),
  rig: text,
  board: text,
  rigSha256: text,
  controller: z.strictObject({ serial: text, firmware: text }),
  at: text,
  run: text,
  fit: z.boolean(),
  findings: z.array(rigFinding),
  facts: rigFacts,
});

/** @returns the path of the file @throws the system's error when it cannot be written */
export function keepRigCheck(runsFolder: string, check: RigCheck): string {
  const path = join(runsFolder, `${check.run}${SUFFIX}`);
  writeFileAtomically(
    path,
    `${JSON.stringify({ format: FORMAT, version: VERSION, ...check }, null, 1)}\n`,
  );
  return path;
}

/** Bytes of each kept check below a folder, by the run that made it; none where there is no such folder. */
export function rigCheckSizes(runsFolder: string): Map<string, number> {
  const sizes = new Map<string, number>();
  for (const name of namesIn(runsFolder)) {
    const found = statSync(join(runsFolder, name), { throwIfNoEntry: false });
    if (found?.isFile() === true) sizes.set(name.slice(0, -SUFFIX.length), found.size);
  }
  return sizes;
}

/** @returns the check that a run made, or a sentence on why it cannot be read */
export function rigCheckOf(runsFolder: string, run: string): KeptRigCheck | string {
  return readRigCheck(join(runsFolder, `${run}${SUFFIX}`));
}

export interface FoundRigChecks {
  /** Newest check of any depth, and newest full one; null where there is none. */
  readonly newest: KeptRigCheck | null;
  readonly full: KeptRigCheck | null;
  /** Files that look like checks and cannot be read, as sentences. */
  readonly unreadable: readonly string[];
}

/** What is kept of a rig as it is wired for a board. A file that cannot be read is told, never taken for none. */
export function findRigChecks(
  runsFolder: string,
  { rig, board }: { readonly rig: string; readonly board: string },
): FoundRigChecks {
  const unreadable: string[] = [];
  const kept: KeptRigCheck[] = [];
  for (const name of namesIn(runsFolder)) {
    const path = join(runsFolder, name);
    const read = readRigCheck(path);
    if (typeof read === "string") unreadable.push(read);
    else if (read.check.rig === rig && read.check.board === board) kept.push(read);
  }
  kept.sort((a, b) => Date.parse(b.check.at) - Date.parse(a.check.at));
  return {
    newest: kept[0] ?? null,
    full: kept.find(({ check }) => check.facts.depth === "full") ?? null,
    unreadable,
  };
}

/** What a run names a check by. */
export function nameOfCheck(
  { check, id }: KeptRigCheck,
  now: { readonly wall: string; readonly rigSha256: string | null },
): RigCheckName {
  return {
    at: check.at,
    depth: check.facts.depth,
    id,
    fit: check.fit,
    ageMs: Date.parse(now.wall) - Date.parse(check.at),
    sameRig: check.rigSha256 === now.rigSha256,
  };
}

function readRigCheck(path: string): KeptRigCheck | string {
  try {
    const bytes = readFileSync(path);
    const parsed = schema.safeParse(JSON.parse(bytes.toString("utf8")));
    if (!parsed.success) {
      const [issue] = parsed.error.issues;
      return unreadableText(path, `${issue?.path.join(".") ?? ""}: ${issue?.message ?? ""}`);
    }
    const { format: _, version: __, ...check } = parsed.data;
    const id = createHash("sha256").update(bytes).digest("hex").slice(0, ID_DIGITS);
    return { check, id };
  } catch (error) {
    return unreadableText(path, error instanceof Error ? error.message : String(error));
  }
}

function unreadableText(path: string, why: string): string {
  return `Expected a check of a rig (${FORMAT} version ${VERSION}) in ${path}, but it cannot be read (${why}). Move it away, or check the rig again.`;
}

function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder).filter((name) => name.endsWith(SUFFIX));
  } catch (error) {
    if (error instanceof Error && "code" in error && error.code === "ENOENT") return [];
    throw error;
  }
}
