/** What goes into a released set from the folder of a run: its journal, the files of its method, and all that lies beside. */
import { readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import type { PlanSource } from "../../events/plan.ts";
import { digestOf } from "../../record/seal/file-digest.ts";
import { JOURNAL, RECORD, RECORD_PAGE, RECORD_SHEET } from "../../record/seal/set-files.ts";
import { isSetName } from "../../record/seal/sums.ts";
import { openSetFolder } from "../../store/set-folder.ts";
import { METHOD_FOLDER } from "../prove/method-files.ts";

export interface FilesToSeal {
  /** Names in the set, the same as in the folder of the run. */
  readonly names: readonly string[];
  /** Files of the method that are not there, or not what they were in the run. */
  readonly notAttached: readonly PlanSource[];
  /** What lies there and cannot be sealed, as sentences. */
  readonly leftOut: readonly string[];
}

/** Made anew at release: drafts of them would contradict the record. */
const MADE_ANEW: ReadonlySet<string> = new Set([JOURNAL, RECORD, RECORD_SHEET, RECORD_PAGE]);
/** Being written, or a lock of a program that is at work. */
const PASSING = /\.(new|lock|sock)$/;
/** Method files have 1 MiB at most. */
const METHOD_BLOCK_BYTES = 1024 * 1024;

/** @throws the system's error */
export function filesToSeal(run: string, sources: readonly PlanSource[]): FilesToSeal {
  const leftOut: string[] = [];
  const beside = readdirSync(run).filter((name) => {
    if (MADE_ANEW.has(name) || name.startsWith(".") || PASSING.test(name)) return false;
    if (!statSync(join(run, name)).isFile()) return false;
    if (isSetName(name)) return true;
    leftOut.push(
      `${name} is not sealed: expected a name of plain ASCII without \\ or :. Call it otherwise and release again.`,
    );
    return false;
  });
  const method = methodHashes(run);
  const attached = sources.filter(({ sha256 }) => method.has(sha256));
  return {
    names: [JOURNAL, ...beside, ...new Set(attached.map(({ sha256 }) => method.get(sha256) ?? ""))],
    notAttached: sources.filter(({ sha256 }) => !method.has(sha256)),
    leftOut,
  };
}

/** Names of the method files that were kept with the run, by their SHA-256. */
function methodHashes(run: string): Map<string, string> {
  const folder = join(run, METHOD_FOLDER);
  if (statSync(folder, { throwIfNoEntry: false })?.isDirectory() !== true) return new Map();
  const files = openSetFolder(folder);
  return new Map(
    files.names.map((name) => [
      digestOf(files.pieces(name), METHOD_BLOCK_BYTES).sha256,
      `${METHOD_FOLDER}/${name}`,
    ]),
  );
}
