/** The journal is the run: whatever of a run is named, that is what is read. */
import { statSync } from "node:fs";
import { dirname, join } from "node:path";
import { UsageError } from "./usage-error.ts";

/**
 * @param path folder of a run, its journal, or a record or page beside the journal
 * @throws UsageError when there is no such file
 */
export function journalOfRun(path: string): string {
  const stat = statSync(path, { throwIfNoEntry: false });
  if (stat === undefined) {
    throw new UsageError(
      `Expected the folder or the journal of a run, got "${path}": there is none.`,
    );
  }
  if (stat.isDirectory()) return join(path, "journal.ndjson");
  return /record\.(json|txt|html)$/.test(path) ? join(dirname(path), "journal.ndjson") : path;
}
