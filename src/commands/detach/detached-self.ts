/**
 * This process as one that goes on by itself: it was started by another holdfast, has no terminal, and
 * says to its starter once when the run has begun. Whether the starter is still there changes nothing.
 */
import { existsSync, renameSync } from "node:fs";
import { join } from "node:path";
import { messageOf } from "../../journal/system-error.ts";
import type { Door } from "../control/run-control.ts";

/** Names the file that standard output and error go to until the run has a folder. */
export const LOG_VARIABLE = "HOLDFAST_DETACHED_LOG";
/** One for each time that a run was begun or gone on with. */
const LOGS_MAX = 1000;

/** What the starter is told. */
export interface BegunRun {
  readonly folder: string;
  readonly process: number;
  /** Where everything is written that the run says; null when it could not be moved there. */
  readonly log: string | null;
  /** Why nobody can attach to it; null when one can. */
  readonly unreached: string | null;
}

export interface DetachedSelf {
  /** The run in this folder has begun; only the first call says so. */
  begun(folder: string, door: Door): void;
}

/**
 * Null for a process that belongs to a terminal or to whoever started it.
 *
 * @param environment is cleared of the variable, so that nothing started from here inherits it
 */
export function detachedSelf(environment: Record<string, string | undefined>): DetachedSelf | null {
  const log = environment[LOG_VARIABLE];
  delete environment[LOG_VARIABLE];
  if (log === undefined || process.send === undefined) return null;
  let isTold = false;
  return {
    begun(folder, door) {
      if (isTold) return;
      isTold = true;
      tellStarter({
        folder,
        process: process.pid,
        log: moved(log, logName(folder)),
        unreached: door.isOpen ? null : door.why,
      });
    },
  };
}

function logName(folder: string): string {
  for (let turn = 1; turn <= LOGS_MAX; turn += 1) {
    const path = join(folder, turn === 1 ? "log.txt" : `log-${turn}.txt`);
    if (!existsSync(path)) return path;
  }
  return join(folder, "log.txt");
}

/** Written to through the same open file before and after. */
function moved(from: string, to: string): string | null {
  try {
    renameSync(from, to);
    return to;
  } catch (error) {
    process.stderr.write(`This file stays at ${from}: ${messageOf(error)}\n`);
    return null;
  }
}

function tellStarter(run: BegunRun): void {
  if (!process.connected) return;
  process.send?.(run, undefined, undefined, () => {
    if (process.connected) process.disconnect();
  });
}
