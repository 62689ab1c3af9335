/**
 * The index for one answer: opened, or made where there is none, and caught up with the runs folder. What
 * is wrong with the file is told and never stands in the way of an answer that the journals can give.
 */
import { existsSync } from "node:fs";
import { IndexFault } from "../../store/run-index/index-fault.ts";
import {
  indexPath,
  openIndex,
  type RunIndex,
  setIndexAside,
} from "../../store/run-index/open-index.ts";
import type { CheckIo } from "../check.ts";
import { UsageError } from "../usage-error.ts";
import { type CaughtUp, catchUp } from "./catch-up.ts";

/** From so many journals on, reading them takes long enough for a person to wonder. */
const MANY_RUNS = 200;

/** What to do where the file cannot be kept. */
type Otherwise = "answer from memory" | "give up";

/**
 * Caught up with the runs first; drawn from them in memory where nothing can be written.
 *
 * @throws IndexFault of a file that is newer, foreign or kept by another program; UsageError
 */
export async function withFreshIndex<Answer>(
  runsFolder: string,
  io: CheckIo,
  answer: (index: RunIndex) => Promise<Answer>,
): Promise<Answer> {
  return withIndex({ runsFolder, io, otherwise: "answer from memory" }, async (index) => {
    const behind = await catchUp(index, runsFolder, tellProgress(io));
    for (const line of caughtUpLines(behind)) io.error(line);
    return answer(index);
  });
}

/**
 * As it stands; a damaged file is put aside and work begins again with an empty one.
 *
 * @throws IndexFault, UsageError
 */
export async function withIndex<Answer>(
  given: { readonly runsFolder: string; readonly io: CheckIo; readonly otherwise: Otherwise },
  work: (index: RunIndex) => Promise<Answer>,
): Promise<Answer> {
  const { runsFolder, io, otherwise } = given;
  requireFolder(runsFolder);
  try {
    return await closedAfter(await openIndex(runsFolder), work);
  } catch (error) {
    if (!(error instanceof IndexFault)) throw error;
    if (error.code === "INDEX_DAMAGED") return closedAfter(await remade(runsFolder, io), work);
    if (otherwise === "give up" || !UNKEPT.has(error.code)) throw error;
    io.error(`${error.message} This answer is drawn from the runs without it.`);
    return closedAfter(await openIndex(runsFolder, { kept: "in memory" }), work);
  }
}

const UNKEPT: ReadonlySet<string> = new Set(["INDEX_NOT_WRITABLE", "INDEX_NOT_DURABLE"]);

async function remade(runsFolder: string, io: CheckIo): Promise<RunIndex> {
  io.error(`${indexPath(runsFolder)} is damaged and is made again from the runs.`);
  const aside = setIndexAside(runsFolder);
  io.error(`What was there lies in ${aside} now; it holds nothing that the runs do not.`);
  return openIndex(runsFolder);
}

async function closedAfter<Answer>(
  index: RunIndex,
  work: (index: RunIndex) => Promise<Answer>,
): Promise<Answer> {
  try {
    return await work(index);
  } finally {
    await index.close();
  }
}

export function tellProgress(io: CheckIo): (done: number, of: number) => void {
  let told = 0;
  return (done, of) => {
    if (of < MANY_RUNS || done - told < MANY_RUNS) return;
    told = done;
    io.error(`${done} of ${of} journals read`);
  };
}

function caughtUpLines({ read, unreadable, gone, said }: CaughtUp): string[] {
  const parts = [
    ...(read > 0 ? [`${read} new or changed`] : []),
    ...(gone > 0 ? [`${gone} gone`] : []),
    ...(unreadable > 0 ? [`${unreadable} that cannot be read`] : []),
  ];
  return [
    ...(parts.length > 0 ? [`Index caught up with the runs: ${parts.join(", ")}.`] : []),
    ...said,
  ];
}

function requireFolder(runsFolder: string): void {
  if (existsSync(runsFolder)) return;
  throw new UsageError(
    `Expected a folder of runs at "${runsFolder}", there is none. Make a run first, or name another with --runs.`,
  );
}
