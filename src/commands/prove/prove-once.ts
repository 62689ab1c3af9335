/** One run on a connected controller: journal, run, record, and the words at its end. */
import { join } from "node:path";
import type { ControllerBench } from "../../bench/controller-bench.ts";
import { type Journal, openJournal } from "../../journal/open-journal.ts";
import { readJournal } from "../../journal/read-journal.ts";
import { buildRecord } from "../../record/build-record.ts";
import { writeRecord } from "../../record/write-record.ts";
import type { BlockKeeper } from "../../run/run-parts.ts";
import { type RunEnd, startRun } from "../../run/start-run.ts";
import { clearStandingBlock, raiseStandingBlock } from "../../store/standing-block.ts";
import { type ExitStatus, exitStatusOf } from "../exit-status.ts";
import { packageVersion } from "../package-folder.ts";
import type { Proof } from "../proof-folder.ts";
import { closingWords } from "./closing-words.ts";
import type { ProofBench } from "./proof-bench.ts";
import type { ProveOptions } from "./prove-options.ts";
import type { Reporter } from "./reporter.ts";
import type { RunFeed } from "./run-feed.ts";
import { makeRunFolder, runName } from "./run-folder.ts";
import type { StopDesk } from "./stop-desk.ts";
import { onUncaught } from "./stop-signals.ts";

export interface ProveOnceGiven {
  readonly options: ProveOptions;
  readonly proof: Proof;
  readonly desk: StopDesk;
  readonly bench: ProofBench;
  readonly controller: ControllerBench;
  readonly feed: RunFeed;
  readonly reporter: Reporter;
}

interface EndedRun {
  readonly end: RunEnd;
  readonly folder: string;
  readonly journalPath: string;
}

/** @throws JournalFault, UsageError before anything is energised; after that nothing */
export async function proveOnce(given: ProveOnceGiven): Promise<ExitStatus> {
  const { proof, bench, controller, feed, reporter } = given;
  // A terminal that takes no more text may block the last words; the port is let go before them.
  const { end, folder, journalPath } = await proved(given).finally(() => closed(controller));
  const words = closingWords(feed.snapshot(), {
    journal: journalPath,
    record: keptRecord(folder, journalPath),
    rig: proof.plan.rig.name,
    blocked: bench.seed === null && !end.allProvedOff,
  });
  await reporter.finish(words);
  return exitStatusOf(end);
}

async function proved(given: ProveOnceGiven): Promise<EndedRun> {
  const { options, proof, bench, feed } = given;
  const { clock } = bench;
  const name = runName(proof.plan.board.name, clock.wallTime());
  const folder = makeRunFolder(options.runs, name);
  const journalPath = join(folder, "journal.ndjson");
  const journal = openJournal({ path: journalPath, clock, startMs: clock.nowMs() });
  journal.subscribe((entry) => feed.take(entry));
  const end = await ended(given, journal, name);
  journal.close();
  return { end, folder, journalPath };
}

/** The record is made from the journal as it stands on disk, and from nothing else. */
function keptRecord(folder: string, journalPath: string): string | null {
  const path = join(folder, "record.json");
  try {
    const { entries, torn } = readJournal(journalPath);
    writeRecord(path, buildRecord(entries, torn?.line ?? null));
    return path;
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    process.stderr.write(`No record was made: ${why}\n`);
    return null;
  }
}

/** A port that does not close cleanly is worth a line, and no more: outputs are safe by now. */
async function closed(controller: ControllerBench): Promise<void> {
  try {
    await controller.close();
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    process.stderr.write(`Closing the port failed: ${why}\n`);
  }
}

async function ended(given: ProveOnceGiven, journal: Journal, name: string): Promise<RunEnd> {
  const { options, proof, desk, bench, controller } = given;
  const run = startRun({
    plan: proof.plan,
    bench: controller,
    clock: bench.clock,
    journal,
    run: name,
    unit: options.unit,
    seed: bench.seed,
    benchName: bench.name,
    program: `holdfast ${packageVersion()}`,
    block: bench.seed === null ? blockKeeper(given, name) : null,
  });
  const forget = onUncaught((error) => run.fail(error));
  desk.serve(run);
  try {
    return await run.done;
  } finally {
    forget();
  }
}

/** The note that stands on disk from the first rail on until every rail is proved off. */
function blockKeeper({ options, proof, bench }: ProveOnceGiven, run: string): BlockKeeper {
  const rig = proof.plan.rig.name;
  return {
    raise: (reason) =>
      raiseStandingBlock(options.runs, { rig, run, wall: bench.clock.wallTime(), reason }),
    clear: () => clearStandingBlock(options.runs, rig),
  };
}
