/** `holdfast rebuild-index`: the index of runs made again from the files it is drawn from. */
import type { RunIndex } from "../store/run-index/open-index.ts";
import { emptyIndex } from "../store/run-index/put-beside.ts";
import { wrongsOf } from "../store/run-index/wrongs-of.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { catchUp } from "./history/catch-up.ts";
import { tellProgress, withIndex } from "./history/fresh-index.ts";
import { statusOfFault } from "./history/status-of-fault.ts";

/** @returns 0, or 3 when the new file is not sound or another program keeps it; 2 for a newer or foreign one */
export async function rebuildIndexCommand(runs: string, io: CheckIo): Promise<ExitStatus> {
  return statusOfFault(io, () =>
    withIndex({ runsFolder: runs, io, otherwise: "give up" }, (index) => rebuild(index, runs, io)),
  );
}

async function rebuild(index: RunIndex, runs: string, io: CheckIo): Promise<ExitStatus> {
  await emptyIndex(index);
  const { read, unreadable, said } = await catchUp(index, runs, tellProgress(io));
  for (const line of said) io.error(line);
  const wrongs = await wrongsOf(index);
  for (const wrong of wrongs) io.error(`The new index is not sound: ${wrong}.`);
  io.out(
    `${index.path}: ${read} runs` +
      (unreadable === 0 ? "." : `, and ${unreadable} whose journal cannot be read.`),
  );
  return wrongs.length === 0 ? EXIT.pass : EXIT.trouble;
}
