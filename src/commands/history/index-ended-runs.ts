/** Runs that have just ended, into the index. A run stands whether or not that succeeds. */
import { openIndex } from "../../store/run-index/open-index.ts";
import { putRuns } from "./catch-up.ts";
import { journalBytes, readRun } from "./read-run.ts";

/**
 * @param runs names of their folders
 * @returns what to say, null when there is nothing to say
 */
export async function indexEndedRuns(
  runsFolder: string,
  runs: readonly string[],
): Promise<string | null> {
  try {
    const index = await openIndex(runsFolder);
    try {
      const read = runs.flatMap((run) => {
        const bytes = journalBytes(runsFolder, run);
        return bytes === null ? [] : [readRun(runsFolder, run, bytes)];
      });
      await putRuns(index, read);
    } finally {
      await index.close();
    }
    return null;
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return `The run stands; it is not in the index of runs yet: ${why}`;
  }
}
