/** Which journal is meant by a run folder, a journal file, or nothing at all. */
import { readdirSync, type Stats, statSync } from "node:fs";
import { join } from "node:path";
import { UsageError } from "./usage-error.ts";

const JOURNAL_NAME = "journal.ndjson";

/**
 * @param given a run folder or a journal; undefined means the newest run under `runs`
 * @throws UsageError when there is no journal
 */
export function journalToFollow(given: string | undefined, runs: string): string {
  return given === undefined ? newestJournal(runs) : journalAt(given);
}

function journalAt(path: string): string {
  const found = statOrNull(path);
  if (found === null) {
    throw new UsageError(`Expected a run folder or a journal, but there is no "${path}".`);
  }
  if (!found.isDirectory()) return path;
  const journal = join(path, JOURNAL_NAME);
  if (statOrNull(journal) !== null) return journal;
  throw new UsageError(
    `Expected a run folder with ${JOURNAL_NAME} in it, got "${path}". The newest run below a folder is followed by: holdfast follow --runs ${path}`,
  );
}

/** The run that was last written to: names sort by the bench's calendar, which may not be ours. */
function newestJournal(runs: string): string {
  const journals = namesIn(runs)
    .map((name) => join(runs, name, JOURNAL_NAME))
    .flatMap((path) => {
      const found = statOrNull(path);
      return found === null ? [] : [{ path, writtenMs: found.mtimeMs }];
    });
  const newest = journals.reduce<(typeof journals)[number] | null>(
    (best, one) => (best === null || one.writtenMs >= best.writtenMs ? one : best),
    null,
  );
  if (newest !== null) return newest.path;
  throw new UsageError(
    `Expected a run under "${runs}", found none. Name a run folder or a journal, or another folder of runs with --runs.`,
  );
}

function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(
      `Expected a folder of runs at "${folder}", but ${why}. Name another with --runs.`,
    );
  }
}

/** Null also where a folder on the way may not be entered: there is no run to be seen there. */
function statOrNull(path: string): Stats | null {
  try {
    return statSync(path);
  } catch {
    return null;
  }
}
