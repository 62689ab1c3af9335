/**
 * The note that a rig was energised and has not been proved off since. It outlives the program and
 * a power cut; while it stands the rig may not be energised, until a person has looked and clears it.
 *
 * One small JSON file a rig in the runs folder, written beside, synced and renamed into place.
 */
import {
  closeSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  writeSync,
} from "node:fs";
import { join } from "node:path";

const FORMAT = "holdfast-standing-block";
const VERSION = 1;

export interface StandingBlock {
  readonly rig: string;
  /** Run that raised it. */
  readonly run: string;
  /** Wall time at which it was raised, ISO 8601. */
  readonly wall: string;
  /** Why, in one clause, such as which rails are unproved. */
  readonly reason: string;
}

export type StandingBlockErrorCode = "BLOCK_UNREADABLE" | "BLOCK_NOT_WRITTEN" | "BLOCK_STANDS";

export class StandingBlockError extends Error {
  readonly code: StandingBlockErrorCode;
  readonly path: string;

  constructor(code: StandingBlockErrorCode, path: string, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = "StandingBlockError";
    this.code = code;
    this.path = path;
  }
}

/** Where the note of a rig stands. Letters, digits, dot, dash and underline of its name are kept. */
export function standingBlockPath(runsFolder: string, rig: string): string {
  const escaped = rig.replace(
    /[^A-Za-z0-9._-]/g,
    (sign) => `%${sign.codePointAt(0)?.toString(16)}`,
  );
  return join(runsFolder, `${escaped}.block.json`);
}

/**
 * @returns the note, or null when none stands
 * @throws StandingBlockError "BLOCK_UNREADABLE": a note that cannot be read still blocks
 */
export function readStandingBlock(runsFolder: string, rig: string): StandingBlock | null {
  const path = standingBlockPath(runsFolder, rig);
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    if (isMissing(error)) return null;
    throw unreadable(path, error);
  }
  return parseBlock(text, path);
}

/** @throws StandingBlockError "BLOCK_NOT_WRITTEN": then nothing may be energised */
export function raiseStandingBlock(runsFolder: string, block: StandingBlock): void {
  const path = standingBlockPath(runsFolder, block.rig);
  const { rig, run, wall, reason } = block;
  const text = `${JSON.stringify({ format: FORMAT, version: VERSION, rig, run, wall, reason })}\n`;
  try {
    mkdirSync(runsFolder, { recursive: true });
    const beside = `${path}.new`;
    const file = openSync(beside, "w", 0o644);
    try {
      writeSync(file, text);
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
    renameSync(beside, path);
    syncFolder(runsFolder);
  } catch (error) {
    throw new StandingBlockError(
      "BLOCK_NOT_WRITTEN",
      path,
      `Expected to keep the note that rig ${rig} is not proved off in ${path}, but writing failed ` +
        `(${messageOf(error)}). Free the disk or name another runs folder.`,
      error,
    );
  }
}

/** Take the note away. None there is no error. */
export function clearStandingBlock(runsFolder: string, rig: string): void {
  rmSync(standingBlockPath(runsFolder, rig), { force: true });
  syncFolder(runsFolder);
}

/**
 * @param goingOn name of a run that goes on by a choice made beforehand: the note it left itself when it
 *   was broken off does not stand in its own way. Its rails are read at rest before anything is switched
 * @throws StandingBlockError "BLOCK_STANDS" or "BLOCK_UNREADABLE" when the rig may not be energised
 */
export function refuseWhileBlocked(runsFolder: string, rig: string, goingOn?: string): void {
  const block = readStandingBlock(runsFolder, rig);
  if (block === null || block.run === goingOn) return;
  throw new StandingBlockError(
    "BLOCK_STANDS",
    standingBlockPath(runsFolder, rig),
    `Expected rig ${rig} to be proved off, but run ${block.run} of ${block.wall} left it: ${block.reason}. ` +
      "Measure every rail by hand, switch the supplies off where needed, then clear the note.",
  );
}

function parseBlock(text: string, path: string): StandingBlock {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw unreadable(path, error);
  }
  if (!isRecord(value) || value["format"] !== FORMAT || value["version"] !== VERSION) {
    throw unreadable(path, new Error(`expected ${FORMAT} version ${VERSION}`));
  }
  const field = (name: string): string => {
    const found = value[name];
    if (typeof found !== "string") throw unreadable(path, new Error(`expected text in "${name}"`));
    return found;
  };
  return { rig: field("rig"), run: field("run"), wall: field("wall"), reason: field("reason") };
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null;
}

/** A rename is on the medium only once its folder is. */
function syncFolder(folder: string): void {
  let handle: number;
  try {
    handle = openSync(folder, "r");
  } catch (error) {
    // Some systems open no folders; there the rename itself has to do. A missing folder holds no note.
    if (isMissing(error) || isRefusedForFolders(error)) return;
    throw error;
  }
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

function unreadable(path: string, cause: unknown): StandingBlockError {
  return new StandingBlockError(
    "BLOCK_UNREADABLE",
    path,
    `Expected a note on an unproved off in ${path}, but it cannot be read (${messageOf(cause)}). It blocks ` +
      "energising all the same: measure every rail by hand, then clear it.",
    cause,
  );
}

function codeOf(error: unknown): unknown {
  return error instanceof Error && "code" in error ? error.code : null;
}

function isMissing(error: unknown): boolean {
  return codeOf(error) === "ENOENT";
}

function isRefusedForFolders(error: unknown): boolean {
  return ["EISDIR", "EPERM", "EACCES"].includes(String(codeOf(error)));
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
