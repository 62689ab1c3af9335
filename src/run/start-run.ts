/**
 * One run from start to proved off: the machines with their actors, the reasons that come from
 * outside, and the last line of the journal. `done` always resolves, after the outputs are safe.
 */
import { createActor, type InspectionEvent } from "xstate";
import type { Bench } from "../bench/bench.ts";
import type { Clock } from "../clock/clock.ts";
import { deadlineClock } from "../clock/deadline-clock.ts";
import {
  type EndCause,
  JOURNAL_FORMAT,
  JOURNAL_VERSION,
  type JournalEntry,
  type UnitSheet,
} from "../events/events.ts";
import type { Verdict } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import type { RigCheckDepth, RigCheckName } from "../events/rig-check.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import type { SoakEvent } from "../events/soak.ts";
import type { TaughtBefore } from "../events/unit-history.ts";
import { type FoldedRun, verdictAtEnd, verdictInStandby } from "../journal/account.ts";
import { foldEvent, initialSnapshot } from "../journal/fold.ts";
import type { Journal } from "../journal/open-journal.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import { ruleText } from "../verdict/decision-rule.ts";
import { bringSafe, type RailFall, type SafeOutcome } from "./bring-safe.ts";
import { PLAIN_PROOF, type RunConduct } from "./conduct.ts";
import { type Ending, ending, endingOf } from "./ending.ts";
import { provideRun } from "./provide-run.ts";
import { RigSurvey } from "./rig-survey.ts";
import type { RunMachineEvent } from "./run.machine.ts";
import { type BlockKeeper, createRunParts, type RunParts } from "./run-parts.ts";
import { Scribe } from "./scribe.ts";
import { soakHeartbeatMs, soakWatchEveryMs } from "./timing.ts";

/** The journal as the run uses it; `subscribe` tells of sealed entries only. */
export type RunJournal = Pick<Journal, "append" | "seal" | "subscribe">;

export interface RunOptions {
  readonly plan: Plan;
  readonly bench: Bench;
  readonly clock: Clock;
  readonly journal: RunJournal;
  /** Name of the run, as its journal has it. */
  readonly run: string;
  readonly unit: string | null;
  readonly seed: number | null;
  /** What the bench is called in the record, such as `emulated bench`. */
  readonly benchName: string;
  /** Program and version, for the record. */
  readonly program: string;
  /** Keeps the note that this rig was energised and is not proved off; null keeps none. */
  readonly block?: BlockKeeper | null;
  /** How the run is conducted; a plain proof when missing. */
  readonly conduct?: RunConduct;
  /** When the run before ordered the heaters on, ms of `clock`; null or missing when they are off. */
  readonly heatersOnMs?: number | null;
  readonly unitSheet?: UnitSheet;
  /** What earlier soaks of the unit taught of its levels; of a soak. */
  readonly taught?: TaughtBefore;
  /** What is known of the bench before the run and belongs into its journal, one sentence each. */
  readonly remarks?: readonly string[];
  /** Ask the rig itself first, and name the newest check that was made of it; missing asks nothing. */
  readonly rigCheck?: {
    readonly depth: RigCheckDepth;
    /** The check is what the run is for; a quick one then switches nothing. */
    readonly alone: boolean;
    readonly newest: RigCheckName | null;
  };
  /** One of several legs of a soak, in one journal; missing where the run is one of its own. */
  readonly leg?: LegGiven;
  /** Told of every step of every machine; for tests and for looking at a run gone wrong. */
  readonly inspect?: (inspection: InspectionEvent) => void;
}

interface LegGiven {
  readonly begun: Extract<SoakEvent, { kind: "leg-begun" }>;
  /** The run as the legs before it have left it; null for the first leg, which opens the run. */
  readonly before: FoldedRun | null;
  readonly openedMs: number;
  /** Whether another leg is to follow, so that the run is not closed with this one. */
  goesOn(ending: Ending, allProvedOff: boolean): boolean;
}

export interface RunEnd {
  readonly verdict: Verdict;
  readonly cause: EndCause;
  readonly detail: string;
  /** Every rail that was raised has been proved off. */
  readonly allProvedOff: boolean;
  readonly falls: readonly RailFall[];
  /** When the heaters that are kept on for the next run were ordered on; null when none are. */
  readonly heatersKeptOnMs: number | null;
  /** The journal is not closed: another leg is to follow. */
  readonly goesOn?: boolean;
}

export interface RunHandle {
  /** Resolves when outputs are safe and the journal is closed off; never rejects. */
  readonly done: Promise<RunEnd>;
  /** The run as its sealed events make it. */
  snapshot(): RunSnapshot;
  /** End safely at the wish of a person or a signal. Again and again does no harm. */
  stop(by: "person" | "signal", detail: string): void;
  /** Ask for something besides stopping. Null when it was taken, else why not. */
  ask(wish: RunWish): WishAnswer;
  /** End safely because the program itself failed outside the run. */
  fail(error: unknown): void;
}

export function startRun(options: RunOptions): RunHandle {
  return new Run(options);
}

class Run implements RunHandle {
  readonly done: Promise<RunEnd>;
  readonly #options: RunOptions;
  readonly #parts: RunParts;
  #folded: FoldedRun;
  #isClosing = false;
  #programFault: Ending | null = null;
  #send: (event: RunMachineEvent) => void = () => undefined;

  constructor(options: RunOptions) {
    this.#options = options;
    const { plan, bench, clock, journal, block = null, leg } = options;
    this.#folded = leg?.before ?? initialSnapshot();
    const unsubscribe = journal.subscribe((entry) => this.#fold(entry));
    const scribe = new Scribe(journal, (fault) => this.#journalFailed(fault));
    const { rigCheck } = options;
    const survey = rigCheck === undefined ? null : new RigSurvey(rigCheck);
    this.#parts = createRunParts({
      plan,
      bench,
      clock,
      scribe,
      block,
      survey,
      ...(leg === undefined
        ? {}
        : {
            openedMs: leg.openedMs,
            watchEveryMs: soakWatchEveryMs,
            heartbeatMs: soakHeartbeatMs,
          }),
    });
    this.#open();
    this.done = this.#prove()
      .then((reason) => this.#close(reason))
      .finally(unsubscribe);
  }

  snapshot(): RunSnapshot {
    return this.#folded;
  }

  stop(by: "person" | "signal", detail: string): void {
    if (this.#isClosing) return;
    const cause = by === "person" ? "stopped by the person" : "signal";
    this.#parts.latch.close(cause);
    this.#parts.scribe.write({ kind: "stop-requested", by, detail });
    this.#send({ type: "STOP_REQUESTED", ending: ending(cause, detail) });
  }

  ask(wish: RunWish): WishAnswer {
    const { desk, latch } = this.#parts;
    return this.#isClosing || latch.closedBecause !== null
      ? "The run is ending; nothing else can be asked of it."
      : desk.ask(wish);
  }

  fail(error: unknown): void {
    if (this.#isClosing) return;
    const why = endingOf(error);
    this.#programFault ??= why;
    this.#parts.latch.close(why.detail);
    this.#send({ type: "PROGRAM_FAILED", ending: why });
  }

  /** A fold that fails is a fault of the program and not of the journal, which has sealed the entry. */
  #fold(entry: JournalEntry): void {
    try {
      this.#folded = foldEvent(this.#folded, entry);
    } catch (error) {
      this.fail(error);
    }
  }

  #journalFailed(fault: unknown): void {
    const why = endingOf(fault);
    this.#parts.latch.close(why.detail);
    this.#send({ type: "JOURNAL_FAILED", ending: { ...why, cause: "journal fault" } });
  }

  #open(): void {
    const { bench, leg } = this.#options;
    const { maker: _, ...controller } = bench.identity;
    const { scribe } = this.#parts;
    if (leg?.before == null) this.#openRun();
    if (leg !== undefined) scribe.write(leg.begun);
    scribe.write({ kind: "controller", ...controller });
    for (const text of this.#options.remarks ?? []) scribe.write({ kind: "remark", text });
    this.#takeOver(this.#options.heatersOnMs ?? null);
  }

  #openRun(): void {
    const { plan, clock, run, unit, unitSheet, seed, benchName, program, rigCheck, taught } =
      this.#options;
    const { soak } = this.#conduct;
    this.#parts.scribe.write({
      kind: "run-opened",
      format: JOURNAL_FORMAT,
      version: JOURNAL_VERSION,
      run,
      mode: this.#conduct.mode,
      unit,
      ...(unitSheet === undefined ? {} : { unitSheet }),
      bench: benchName,
      seed,
      wall: clock.wallTime(),
      program,
      rule: ruleText(plan.rule),
      plan,
      ...(rigCheck === undefined ? {} : { rigCheck: rigCheck.newest }),
      ...(soak === null ? {} : { soak: soak.order }),
      ...(taught === undefined ? {} : { taught }),
    });
  }

  /** Heaters of the run before are this run's from its first moment on. */
  #takeOver(onSinceMs: number | null): void {
    if (onSinceMs === null) return;
    const { clock, rails, scribe } = this.#parts;
    const atMs = clock.nowMs();
    rails.takeOver("heater", { onSinceMs, atMs });
    const takenOverMs = Math.round(atMs - onSinceMs);
    scribe.write({ kind: "rail-switched", rail: "heater", on: true, takenOverMs });
  }

  /** Run the machines to their end, or go down by hand when the root itself fails. */
  #prove(): Promise<Ending> {
    const { plan, clock, inspect } = this.#options;
    const parts = this.#parts;
    // Before the machine exists a fault of the journal is already reason enough not to begin.
    if (parts.scribe.fault !== null) return Promise.resolve(endingOf(parts.scribe.fault));
    return new Promise((resolve) => {
      const conduct = this.#conduct;
      const verdictWith = (cause: EndCause) => verdictInStandby(this.#folded, cause);
      const root = createActor(provideRun(parts, conduct, verdictWith), {
        clock: deadlineClock(clock),
        input: { plan, conduct },
        ...(inspect === undefined ? {} : { inspect }),
      });
      root.subscribe({
        complete: () => {
          const { output } = root.getSnapshot();
          resolve(output?.ending ?? ending("internal fault", "the run ended without a reason"));
        },
        error: (error: unknown) => resolve(endingOf(error)),
      });
      this.#send = (event) => root.send(event);
      root.start();
    });
  }

  async #close(reason: Ending): Promise<RunEnd> {
    this.#isClosing = true;
    this.#send = () => undefined;
    const parts = this.#parts;
    // The machine has been here already unless it failed; the descent is one and the same.
    const outcome = await bringSafe(parts, reason.detail);
    this.#settleBlock(outcome, reason);
    this.#conduct.wall?.tell(parts.scribe);
    const ground = parts.rig.groundWords();
    if (ground !== null) parts.scribe.write({ kind: "remark", text: ground });
    const found = this.#concludeCheck(reason);
    const goesOn = this.#endLeg(found, outcome);
    if (goesOn) {
      const { falls } = outcome;
      const end = this.#endFor(found);
      return { ...end, allProvedOff: outcome.allProved, falls, heatersKeptOnMs: null, goesOn };
    }
    parts.scribe.phase("ended");
    const wanted = this.#endFor(this.#finalReason(found));
    parts.scribe.write({ kind: "run-closed", ...wanted, wall: parts.clock.wallTime() });
    // What the last line says counts only once that line is sealed.
    const end = parts.scribe.fault === null ? wanted : this.#endFor(this.#finalReason(found));
    const { allProved: allProvedOff, falls } = outcome;
    const { rails } = parts;
    const isKept = rails.state("heater") === "kept";
    const heatersKeptOnMs = isKept ? rails.onSinceMs("heater") : null;
    return { ...end, allProvedOff, falls, heatersKeptOnMs };
  }

  /** @returns whether another leg follows, now that this one is written down whole */
  #endLeg({ cause, detail, fault }: Ending, { allProved }: SafeOutcome): boolean {
    const { leg } = this.#options;
    if (leg === undefined) return false;
    const { scribe } = this.#parts;
    const goesOn = leg.goesOn({ cause, detail, fault }, allProved);
    scribe.write({
      kind: "leg-ended",
      leg: leg.begun.leg,
      cause: goesOn && cause === "completed" ? "power cycle" : cause,
      detail,
      provedOff: allProved,
      ...this.#breakOf(cause),
    });
    return goesOn && scribe.fault === null && this.#programFault === null;
  }

  /** Of a link that broke: whether relays were moving then, as far as the bench knows. */
  #breakOf(cause: EndCause): { readonly brokeOffMoving?: boolean } {
    if (cause !== "link lost" && cause !== "controller restarted") return {};
    const moving = this.#options.bench.linkUse?.().brokeOffMoving ?? null;
    return moving === null ? {} : { brokeOffMoving: moving };
  }

  /**
   * A rig check says what it found however it ended, unless somebody or something broke it off: half a
   * walk is no evidence. What it found says more than that a supply was refused on the way.
   */
  #concludeCheck(reason: Ending): Ending {
    const { survey } = this.#parts;
    const isToTell = reason.cause === "completed" || reason.cause === "supply refused";
    if (survey?.depth !== "full" || !survey.hasBegun || !isToTell) return reason;
    return survey.conclude(this.#parts) ?? reason;
  }

  get #conduct(): RunConduct {
    return this.#options.conduct ?? PLAIN_PROOF;
  }

  #endFor({ cause, detail }: Ending): Pick<RunEnd, "cause" | "detail" | "verdict"> {
    return { cause, detail, verdict: verdictAtEnd(this.#folded, cause) };
  }

  /**
   * What was written after a fault of the journal cannot be counted, and what a program did that
   * failed meanwhile cannot be trusted, whatever came first.
   */
  #finalReason(reason: Ending): Ending {
    const { fault } = this.#parts.scribe;
    if (fault === null) return this.#programFault ?? reason;
    return reason.cause === "journal fault"
      ? reason
      : { ...endingOf(fault), cause: "journal fault" };
  }

  #settleBlock(outcome: SafeOutcome, reason: Ending): void {
    const { block, scribe } = this.#parts;
    if (block === null) return;
    try {
      if (outcome.allProved) block.clear();
      else block.raise(blockReason(outcome, reason));
    } catch (error) {
      const text = error instanceof Error ? error.message : String(error);
      scribe.write({
        kind: "remark",
        text: `The note on an unproved off could not be kept: ${text}`,
      });
    }
  }
}

function blockReason({ falls }: SafeOutcome, reason: Ending): string {
  if (falls.every(({ proof }) => proof !== "unproved" && proof !== "lead lost")) {
    return "heaters kept on for the next run, and not yet proved off";
  }
  const unproved = falls
    .filter(({ proof }) => proof === "unproved" || proof === "lead lost")
    .map(({ rail, proof }) => `${rail} ${proof}`);
  return `${unproved.join(", ")} after: ${reason.detail}`;
}
