/** The files a run was made by, kept with it: a record that names them by hash alone helps no stranger. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { messageOf } from "../../journal/system-error.ts";
import type { ProofFile } from "../read-proof-file.ts";
import { UsageError } from "../usage-error.ts";

/** In the folder of a run. */
export const METHOD_FOLDER = "files";

/** Each by its role, since two may have one name. @throws UsageError when they cannot be written */
export function keepMethodFiles(run: string, files: readonly ProofFile[]): void {
  const folder = join(run, METHOD_FOLDER);
  try {
    mkdirSync(folder, { recursive: true });
    for (const { role, bytes } of files) writeFileSync(join(folder, `${role}.yaml`), bytes);
  } catch (error) {
    throw new UsageError(
      `Expected to keep the files of this run in ${folder}, but it failed (${messageOf(error)}). Free the disk or name another folder with --runs.`,
    );
  }
}
