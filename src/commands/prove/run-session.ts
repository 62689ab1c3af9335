/**
 * Runs on one connected controller: one after the other as long as heaters are handed on, with
 * journal, record and closing words for each.
 */
import { basename } from "node:path";
import type { ControllerBench } from "../../bench/controller-bench.ts";
import { type RunWish, STILL_BUSY, type WishAnswer } from "../../events/run-wish.ts";
import type { TaughtBefore } from "../../events/unit-history.ts";
import { JournalFault } from "../../journal/journal-fault.ts";
import type { RunSnapshot } from "../../journal/snapshot.ts";
import type { BlockKeeper } from "../../run/run-parts.ts";
import { type RunEnd, type RunHandle, startRun } from "../../run/start-run.ts";
import type { FoundRigChecks } from "../../store/rig-checks.ts";
import { clearStandingBlock, raiseStandingBlock } from "../../store/standing-block.ts";
import { findingText } from "../../verdict/rig-fault-words.ts";
import { type ExitStatus, exitStatusOf } from "../exit-status.ts";
import { packageVersion } from "../package-folder.ts";
import type { Proof } from "../proof-folder.ts";
import { spoken } from "../settings/with-settings.ts";
import { UsageError } from "../usage-error.ts";
import { closingWords } from "./closing-words.ts";
import { lockJournal } from "./journal-lock.ts";
import { type PreparedRun, prepareNextRun } from "./next-run.ts";
import { type ProofBench, timeOf } from "./proof-bench.ts";
import type { ProveOptions } from "./prove-options.ts";
import type { Reporter } from "./reporter.ts";
import { checksOfRig, keepCheck, planOnCheckedRig, type RigChecked } from "./rig-check-files.ts";
import type { RunDesk } from "./run-desk.ts";
import type { RunFeed } from "./run-feed.ts";
import {
  continueRunFiles,
  discardRunFiles,
  keepRecord,
  makeRunFiles,
  type RunFiles,
} from "./run-files.ts";
import { type GoingOn, startAskedSoak } from "./soak-start.ts";
import { onUncaught } from "./stop-signals.ts";
import type { UnitOnBench } from "./unit-on-bench.ts";

export interface RunSessionGiven {
  readonly options: ProveOptions;
  readonly proof: Proof;
  readonly unit: UnitOnBench;
  readonly desk: RunDesk;
  readonly bench: ProofBench;
  readonly controller: ControllerBench;
  readonly feed: RunFeed;
  /** A soak that goes on instead of a run that begins. */
  readonly goingOn: GoingOn | null;
  /** What earlier soaks of the unit taught of its levels; null where nothing did. */
  readonly taught: TaughtBefore | null;
  /** What the journal of each run is to say of the bench. */
  readonly remarks: readonly string[];
  /** Told of each run once its first line is sealed. */
  readonly begun: (files: RunFiles) => void;
  /** Told how the last one ended, before the person is. */
  readonly ended: (words: readonly string[], status: ExitStatus) => Promise<void>;
}

interface BegunRun extends PreparedRun {
  readonly run: RunHandle;
  /** Stop listening for errors that nobody caught. */
  readonly forget: () => void;
}

interface EndedRun {
  readonly end: RunEnd;
  readonly snapshot: RunSnapshot;
  readonly record: string | null;
}

export class RunSession {
  readonly #given: RunSessionGiven;
  /** The one in use: after a lost link it may have been found again. */
  #controller: ControllerBench;
  #present: BegunRun | null = null;
  #prepared: PreparedRun | null = null;
  #isPreparing = false;
  #checked: RigChecked | null = null;
  #found: FoundRigChecks | null = null;
  /** Runs that handed their heaters on; their records wait until nothing is energised. */
  readonly #unrecorded: RunFiles[] = [];

  constructor(given: RunSessionGiven) {
    this.#given = given;
    this.#controller = given.controller;
  }

  /**
   * Prove until no next run is wanted.
   *
   * @returns the exit status of the last run
   * @throws JournalFault, UsageError before anything is energised; after that nothing
   */
  async prove(reporter: Reporter): Promise<ExitStatus> {
    const { options, proof, bench, goingOn, feed } = this.#given;
    const time = timeOf(bench);
    const files =
      goingOn === null
        ? makeRunFiles(options.runs, proof, time)
        : continueRunFiles(goingOn.soak, time);
    const unlock = this.#lock(files);
    let begun = this.#begin({ proof, files }, null);
    while (true) {
      const end = await begun.run.done;
      begun.forget();
      const snapshot = feed.snapshot();
      // Heaters are on and nothing feeds the dead-man until the next run does: a few lines, no more.
      const following = this.#following(end);
      if (following !== null) {
        this.#unrecorded.push(begun.files);
        reporter.between(this.#words(begun, { end, snapshot, record: null }));
        begun = this.#begin(following, end.heatersKeptOnMs);
        continue;
      }
      await closed(this.#controller);
      if (this.#prepared !== null) discardRunFiles(this.#prepared.files);
      const words = this.#lastWords(begun, end, snapshot);
      const status = exitStatusOf({ ...end, mode: options.conduct.mode });
      await this.#given.ended(words, status);
      await reporter.finish(words);
      await this.#index(begun);
      unlock();
      return status;
    }
  }

  /** So that nobody goes on with a soak that is not broken off; one that goes on is locked already. */
  #lock({ journalPath }: RunFiles): () => void {
    const { options, goingOn, bench } = this.#given;
    if (options.soak === null || goingOn !== null) return () => undefined;
    return lockJournal(journalPath, {
      since: bench.clock.wallTime(),
      pid: process.pid,
      environment: process.env,
    });
  }

  /** A wish of the person; the next run is made ready before this one is asked to hand over. */
  ask(wish: RunWish, notice: (text: string) => void): WishAnswer {
    // Until the next run has begun, what is asked after it is meant for that one.
    if (this.#isPreparing || this.#prepared !== null) return STILL_BUSY;
    if (wish.kind !== "next run") return this.#given.desk.ask(wish);
    if (this.#given.feed.snapshot().standby === null) return this.#given.desk.ask(wish);
    void this.#makeReady(notice);
    return null;
  }

  async #makeReady(notice: (text: string) => void): Promise<void> {
    const { options, proof, bench, desk } = this.#given;
    this.#isPreparing = true;
    const release = bench.hold();
    try {
      this.#prepared = await prepareNextRun(options, this.#present?.proof ?? proof, bench);
      const refusal = desk.ask({ kind: "next run" });
      if (refusal === null) return;
      discardRunFiles(this.#prepared.files);
      this.#prepared = null;
      notice(refusal);
    } catch (error) {
      if (!(error instanceof UsageError || error instanceof JournalFault)) throw error;
      notice(`${error.message}\nStandby goes on.`);
    } finally {
      release();
      this.#isPreparing = false;
    }
  }

  /** The run that takes the heaters over, null when they were not kept on. */
  #following({ heatersKeptOnMs }: RunEnd): PreparedRun | null {
    const prepared = this.#prepared;
    if (heatersKeptOnMs === null || prepared === null) return null;
    this.#prepared = null;
    return prepared;
  }

  #begin(prepared: PreparedRun, heatersOnMs: number | null): BegunRun {
    const { options, unit, desk, bench, controller, feed, remarks, taught } = this.#given;
    const { proof, files } = prepared;
    // A soak that goes on has been opened before: its first line from here is as good.
    const untilBegun = files.journal.subscribe(() => {
      untilBegun();
      this.#given.begun(files);
    });
    files.journal.subscribe((entry) => {
      if (entry.event.kind === "rig-checked") this.#checked = entry.event;
      feed.take(entry);
    });
    const alone = options.conduct.mode === "rig check";
    const { plan, newest } = alone
      ? { plan: proof.plan, newest: null }
      : planOnCheckedRig(proof.plan, this.#rigChecks(proof), bench.clock.wallTime());
    const given = {
      plan,
      bench: controller,
      clock: bench.clock,
      journal: files.journal,
      run: files.name,
      unit: unit.unit,
      ...(unit.sheet === null ? {} : { unitSheet: unit.sheet }),
      ...(taught === null ? {} : { taught }),
      seed: bench.seed,
      benchName: bench.name,
      program: `holdfast ${packageVersion()}`,
      block: bench.seed === null ? this.#blockKeeper(prepared) : null,
      remarks,
      rigCheck: { depth: options.rigDepth, alone, newest },
    };
    const run =
      options.soak === null
        ? startRun({ ...given, conduct: options.conduct, heatersOnMs })
        : startAskedSoak(given, {
            asked: options.soak,
            goingOn: this.#given.goingOn,
            files,
            bench,
            onFound: (found) => {
              this.#controller = found;
            },
          });
    const forget = onUncaught((error) => run.fail(error));
    desk.serve(run);
    this.#present = { ...prepared, run, forget };
    return this.#present;
  }

  /** Read once: between two runs on one warm-up there is no time for it. */
  #rigChecks({ plan }: Proof): FoundRigChecks {
    this.#found ??= checksOfRig(plan, this.#given.options.runs);
    return this.#found;
  }

  /** Of a run that was made for it; what a proof found out on the way stands in its journal. */
  #keepCheck({ proof, files }: BegunRun): string[] {
    const { options, bench, controller } = this.#given;
    if (options.conduct.mode !== "rig check" || this.#checked === null) return [];
    const path = keepCheck(this.#checked, {
      plan: proof.plan,
      runs: options.runs,
      run: basename(files.folder),
      wall: bench.clock.wallTime(),
      identity: controller.identity,
    });
    const said = this.#checked.findings.map(findingText);
    return path === null ? said : [...said, `Check:   ${path}`];
  }

  #words({ proof, files }: BegunRun, { end, snapshot, record }: EndedRun): string[] {
    const kept = {
      journal: files.journalPath,
      record,
      rig: proof.plan.rig.name,
      blocked: this.#given.bench.seed === null && !end.allProvedOff && end.heatersKeptOnMs === null,
    };
    const words = closingWords(snapshot, kept, end);
    return words.map((one) => spoken(one, this.#given.options.word));
  }

  /** Reading a long journal back takes longer than the dead-man waits, so records are made here. */
  #lastWords(begun: BegunRun, end: RunEnd, snapshot: RunSnapshot): string[] {
    const earlier = this.#unrecorded.flatMap((files) => {
      files.journal.close();
      const record = keepRecord(files);
      return record === null ? [] : [`Record of ${files.name}: ${record}`];
    });
    begun.files.journal.close();
    const words = this.#words(begun, { end, snapshot, record: keepRecord(begun.files) });
    return [...this.#keepCheck(begun), ...words, ...earlier];
  }

  /** After the last word: nobody waits for the index, and no run depends on it. */
  async #index(begun: BegunRun): Promise<void> {
    const { indexEndedRuns } = await import("../history/index-ended-runs.ts");
    const ended = [...this.#unrecorded, begun.files].map(({ folder }) => basename(folder));
    const said = await indexEndedRuns(this.#given.options.runs, ended);
    if (said !== null) process.stderr.write(`${said}\n`);
  }

  /** The note that stands on disk from the first rail on until every rail is proved off. */
  #blockKeeper({ proof, files }: PreparedRun): BlockKeeper {
    const { options, bench } = this.#given;
    const rig = proof.plan.rig.name;
    const run = files.name;
    return {
      raise: (reason) =>
        raiseStandingBlock(options.runs, { rig, run, wall: bench.clock.wallTime(), reason }),
      clear: () => clearStandingBlock(options.runs, rig),
    };
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
