/** A folder for each run: its journal and its record. A name is never used twice. */
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { UsageError } from "../usage-error.ts";

/** More runs of one board in one second are not made by a person. */
const SAME_NAME_MAX = 10_000;

/** Name of a run: board and wall time, so that a list of runs sorts by time. */
export function runName(board: string, wall: string): string {
  const moment = wall.slice(0, 19).replaceAll(":", "").replace("T", "-");
  return `${moment}-${board.replace(/[^A-Za-z0-9._-]/g, "_")}`;
}

/**
 * Make the folder of a run.
 *
 * @returns its path: `runs/NAME`, or `runs/NAME-2` and so on when the name is taken
 * @throws UsageError when no folder can be made there
 */
export function makeRunFolder(runs: string, name: string): string {
  try {
    mkdirSync(runs, { recursive: true });
    for (let turn = 1; turn <= SAME_NAME_MAX; turn += 1) {
      const path = join(runs, turn === 1 ? name : `${name}-${turn}`);
      if (made(path)) return path;
    }
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(
      `Expected a folder for runs at "${runs}" that can be written to, but ${why}. Name another with --runs.`,
    );
  }
  throw new UsageError(`Expected fewer than ${SAME_NAME_MAX} runs called ${name} in "${runs}".`);
}

function made(path: string): boolean {
  try {
    mkdirSync(path);
    return true;
  } catch (error) {
    if (error instanceof Error && "code" in error && error.code === "EEXIST") return false;
    throw error;
  }
}
