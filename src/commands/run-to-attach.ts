/** Which run is meant by `attach`: the one that was named, or the only one that can be reached. */
import { existsSync, readdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { controlPlaces, type Environment } from "./control/control-place.ts";
import { openSocket } from "./control/open-socket.ts";
import { journalToFollow } from "./run-to-follow.ts";
import { UsageError } from "./usage-error.ts";

/**
 * @param given a run folder or a journal; undefined means the run under `runs` whose program answers
 * @returns its folder; where none answers that of the newest run, which then has something to tell
 * @throws UsageError when there is no run, or when several could be meant
 */
export async function folderToAttach(
  given: string | undefined,
  runs: string,
  environment: Environment,
): Promise<string> {
  if (given !== undefined) return dirname(journalToFollow(given, runs));
  const newest = dirname(journalToFollow(undefined, runs));
  const reached: string[] = [];
  for (const name of readdirSync(runs)) {
    const folder = join(runs, name);
    if (await isReached(folder, environment)) reached.push(folder);
  }
  const [only = newest, second] = reached;
  if (second === undefined) return only;
  throw new UsageError(
    `Expected one run to attach to, found ${reached.length}: ${reached.join(", ")}. Name one.`,
  );
}

/** Says nothing to the run but that somebody came and went. */
async function isReached(folder: string, environment: Environment): Promise<boolean> {
  if (!existsSync(join(folder, "journal.ndjson"))) return false;
  for (const path of controlPlaces(folder, environment)) {
    if (!existsSync(path)) continue;
    const opened = await openSocket(path);
    if (opened.kind !== "open") continue;
    opened.socket.destroy();
    return true;
  }
  return false;
}
