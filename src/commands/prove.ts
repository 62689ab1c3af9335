/**
 * `holdfast prove`: files, bench, controller, journal, run, screen and record wired together. What
 * may be switched, and when, is the run's business; this file only makes sure that every way out
 * goes through it.
 */
import { uptime } from "node:os";
import { basename } from "node:path";
import { isBenchError } from "../bench/bench-error.ts";
import { connectController } from "../bench/connect-controller.ts";
import type { ControllerBench } from "../bench/controller-bench.ts";
import { wiringOfPlan } from "../bench/wiring.ts";
import type { Clock } from "../clock/clock.ts";
import { createRealClock } from "../clock/real-clock.ts";
import type { Phase } from "../events/events.ts";
import type { PlanSource } from "../events/plan.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import type { TaughtBefore } from "../events/unit-history.ts";
import { problemLines } from "../formats/problem.ts";
import { JournalFault } from "../journal/journal-fault.ts";
import { emptyConnectorPlan } from "../plan/empty-connector.ts";
import { findingLine, findingsOf } from "../plan/lint-proof.ts";
import { refuseWhileBlocked, StandingBlockError } from "../store/standing-block.ts";
import { RunControl } from "./control/run-control.ts";
import { type DetachedSelf, detachedSelf } from "./detach/detached-self.ts";
import { startDetached } from "./detach/start-detached.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import type { Proof } from "./proof-folder.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { beforeSoak } from "./prove/before-soak.ts";
import {
  type BrokenOffSoak,
  readBrokenOffSoak,
  requireSameFiles,
} from "./prove/broken-off-soak.ts";
import { cautionLines, waitForGo } from "./prove/cautions.ts";
import { controllerRemarks } from "./prove/controller-remarks.ts";
import { taughtByEarlier } from "./prove/earlier-soaks.ts";
import { lockJournal } from "./prove/journal-lock.ts";
import { openProofBench, type ProofBench, portOf } from "./prove/proof-bench.ts";
import type { ProveOptions } from "./prove/prove-options.ts";
import { openReporter, type Reporter } from "./prove/reporter.ts";
import { RunDesk } from "./prove/run-desk.ts";
import { createRunFeed, type RunFeed } from "./prove/run-feed.ts";
import { RunSession } from "./prove/run-session.ts";
import { soakOrder } from "./prove/soak-options.ts";
import { goingOn } from "./prove/soak-start.ts";
import { onStopSignals } from "./prove/stop-signals.ts";
import { followTypedWishes } from "./prove/typed-wishes.ts";
import { type UnitOnBench, unitOnBench } from "./prove/unit-on-bench.ts";
import { journalToFollow } from "./run-to-follow.ts";
import type { StandardStreams } from "./standard-streams.ts";
import { UsageError } from "./usage-error.ts";

/** @throws UsageError when something was asked for that cannot be done */
export async function proveCommand(
  options: ProveOptions,
  streams: StandardStreams,
): Promise<ExitStatus> {
  const loaded = await proofOrProblems(options.folder);
  if (loaded === null) return EXIT.wrongUsage;
  const found = await unitOnBench(options.unit, loaded);
  if (!found.ok) {
    for (const line of problemLines(found.problems)) process.stderr.write(`${line}\n`);
    return EXIT.wrongUsage;
  }
  const { unit } = found;
  const unlock = lockBrokenOff(options);
  try {
    return await proveFound(options, streams, { loaded, unit });
  } finally {
    unlock();
  }
}

/** Nobody else may go on with the same soak meanwhile, nor while it is still being made. */
function lockBrokenOff({ soak, runs }: ProveOptions): () => void {
  const given = soak?.brokenOff ?? null;
  if (given === null) return () => undefined;
  return lockJournal(journalToFollow(given === "" ? undefined : given, runs), {
    since: createRealClock().wallTime(),
    pid: process.pid,
    environment: process.env,
  });
}

async function proveFound(
  options: ProveOptions,
  streams: StandardStreams,
  { loaded, unit }: { readonly loaded: Proof; readonly unit: UnitOnBench },
): Promise<ExitStatus> {
  const brokenOff = brokenOffSoak(options);
  if (brokenOff !== null) requireSameFiles(brokenOff, withUnit(loaded, unit));
  const asked = options.rigDepth === "full" ? withEmptyConnector(loaded) : loaded;
  const proof = withUnit(asked, unit);
  const desk = new RunDesk();
  const self = detachedSelf(process.env);
  const stop = (detail: string): void => desk.stop({ by: "signal", detail });
  const forget = onStopSignals(stop, self !== null);
  try {
    if (portOf(options, proof) !== null) {
      refuseWhileBlocked(options.runs, proof.plan.rig.name, brokenOff?.name);
    }
    const walksSequence = options.conduct.mode === "proof" || options.conduct.mode === "soak";
    if (walksSequence) for (const line of findingWords(proof.documents)) tell(options, line);
    if (options.soak !== null) {
      const order = brokenOff?.order ?? soakOrder(options.soak, proof.plan);
      const said = await beforeSoak(order, {
        proof,
        runs: options.runs,
        wallMs: Date.parse(createRealClock().wallTime()),
        isReal: portOf(options, proof) !== null,
        begunWallMs: begunMs(brokenOff),
      });
      for (const line of said) tell(options, line);
    }
    const taught = await taughtBySoaks(options, { proof, unit, brokenOff });
    if (!(await agreed(options, proof, desk))) return EXIT.stopped;
    if (options.detach && self === null) return await detached(options, desk);
    streams.onTerminalGone(() => stop("terminal gone"));
    return await proveOnBench({ options, proof, unit, desk, streams, brokenOff, self, taught });
  } catch (error) {
    if (desk.signal.aborted && error === desk.signal.reason) return saidStopped();
    if (!isTrouble(error)) throw error;
    process.stderr.write(`holdfast: ${error.message}${wayOut(error, options, proof)}\n`);
    return EXIT.trouble;
  } finally {
    forget();
  }
}

/** A soak that goes on was taught when it began, and its journal has it. */
async function taughtBySoaks(
  options: ProveOptions,
  given: Pick<ProveGiven, "proof" | "unit" | "brokenOff">,
): Promise<TaughtBefore | null> {
  const { proof, unit, brokenOff } = given;
  if (options.soak === null || brokenOff !== null) return null;
  const { taught, said } = await taughtByEarlier(unit, {
    plan: proof.plan,
    runs: options.runs,
    seed: portOf(options, proof) === null ? options.seed : null,
    error: (line) => process.stderr.write(`${line}\n`),
  });
  for (const line of said) tell(options, line);
  return taught;
}

/** When the soak that is to go on was begun; null for one that begins now. */
function begunMs(brokenOff: BrokenOffSoak | null): number | null {
  const wall = brokenOff?.folded.opened?.wall;
  return wall === undefined ? null : Date.parse(wall);
}

/** @throws UsageError when there is none that may go on */
function brokenOffSoak({ soak, runs }: ProveOptions): BrokenOffSoak | null {
  const given = soak?.brokenOff ?? null;
  return given === null ? null : readBrokenOffSoak(given === "" ? undefined : given, runs);
}

function withEmptyConnector(proof: Proof): Proof {
  return { ...proof, plan: emptyConnectorPlan(proof.plan) };
}

/** What the unit file says goes into the record, and its blanks before the person's eyes. */
function withUnit(proof: Proof, { file, warnings }: UnitOnBench): Proof {
  if (file === null) return proof;
  const { plan } = proof;
  const source: PlanSource = { role: "unit", name: basename(file.path), sha256: file.sha256 };
  return {
    ...proof,
    files: [...proof.files, file],
    plan: {
      ...plan,
      sources: [...plan.sources, source],
      cautions: [...plan.cautions, ...warnings],
    },
  };
}

interface ProveGiven {
  readonly options: ProveOptions;
  readonly proof: Proof;
  readonly unit: UnitOnBench;
  readonly desk: RunDesk;
  readonly streams: StandardStreams;
  /** The soak that is to go on; null for a run that begins. */
  readonly brokenOff: BrokenOffSoak | null;
  /** Null in a process that belongs to a terminal. */
  readonly self: DetachedSelf | null;
  /** What earlier soaks of the unit taught; null where nothing did. */
  readonly taught: TaughtBefore | null;
}

function detached(options: ProveOptions, desk: RunDesk): Promise<ExitStatus> {
  return startDetached({
    runs: options.runs,
    desk,
    json: options.output === "json",
    out: (line) => process.stdout.write(`${line}\n`),
    error: (line) => process.stderr.write(`${line}\n`),
  });
}

async function proveOnBench(given: ProveGiven): Promise<ExitStatus> {
  const { options, proof, unit, desk, streams, brokenOff, self, taught } = given;
  const askFrom = (wish: RunWish, notice: (text: string) => void): WishAnswer =>
    session === null ? "No run has begun yet." : session.ask(wish, notice);
  const ask = (wish: RunWish): WishAnswer => askFrom(wish, (text) => reporter?.notice(text));
  const control = new RunControl({
    clock: createRealClock(),
    environment: process.env,
    stop: (detail) => desk.stop({ by: "person", detail }),
    ask: askFrom,
    onFault: (error) => reporter?.notice(`Serving an attached screen failed: ${String(error)}`),
  });
  const bench = await openProofBench(options, proof);
  let reporter: Reporter | null = null;
  let session: RunSession | null = null;
  let forget = (): void => undefined;
  const feed: RunFeed = createRunFeed((error) => {
    process.stderr.write(`Telling of the run failed (${String(error)}); the run goes on.\n`);
  }, brokenOff?.folded);
  try {
    reporter = await openReporter({
      options,
      feed,
      streams,
      clock: createRealClock(),
      onStop: (key) => desk.stop({ by: "person", detail: key }),
      onWish: (wish) => ask(wish),
    });
    const controller = await connected(bench, proof, desk);
    const remarks = controllerRemarks(await controller.storedRig(), proof.plan);
    const continued =
      brokenOff === null
        ? null
        : await goingOn(brokenOff, controller, {
            uptimeMs: 1000 * uptime(),
            wallMs: Date.parse(bench.clock.wallTime()),
          });
    session = new RunSession({
      ...{ options, proof, unit, desk, bench, controller, feed, remarks, taught },
      goingOn: continued,
      begun: (files) => {
        void control.serve(files).then((door) => self?.begun(files.folder, door));
      },
      ended: (words, status) => control.end(words, status),
    });
    if (self === null) {
      forget = hearTyped({ options, desk, clock: bench.clock, feed, reporter, ask });
    }
    const isByHand = options.output === "screen" || process.stdin.isTTY || self !== null;
    if (isByHand) keepRealTimeInHand(feed, bench);
    return await session.prove(reporter);
  } finally {
    forget();
    await control.close();
    await reporter?.close();
    bench.dispose();
  }
}

const IN_HAND: ReadonlySet<Phase> = new Set<Phase>(["by hand", "frozen", "standby"]);

/** For a person at the keys; a script in a pipe says itself how long it waits. */
function keepRealTimeInHand(feed: RunFeed, bench: ProofBench): void {
  let isKept = false;
  feed.onEntry(({ event }) => {
    if (event.kind !== "phase" || IN_HAND.has(event.phase) === isKept) return;
    isKept = !isKept;
    bench.keepRealTime(isKept);
  });
}

interface TypedGiven extends Pick<ProveGiven, "options" | "desk"> {
  readonly clock: Clock;
  readonly feed: RunFeed;
  readonly reporter: Reporter;
  readonly ask: (wish: RunWish) => WishAnswer;
}

/** Without a screen a person or a script types; a plain proof takes no wishes and reads nothing. */
function hearTyped({ options, desk, clock, feed, reporter, ask }: TypedGiven): () => void {
  const { conduct, output } = options;
  const takesWishes =
    conduct.mode === "hand" || conduct.freezeMs !== null || conduct.standbyMs !== null;
  if (output === "screen" || !takesWishes) return () => undefined;
  return followTypedWishes({
    stdin: process.stdin,
    clock,
    isOpen: () => {
      const { hand, freeze, standby } = feed.snapshot();
      return hand !== null || freeze !== null || standby !== null;
    },
    ask,
    stop: () => desk.stop({ by: "person", detail: "typed stop" }),
    say: (text) => reporter.notice(text),
  });
}

function connected(bench: ProofBench, proof: Proof, desk: RunDesk): Promise<ControllerBench> {
  bench.release();
  const { port, clock, trace } = bench;
  const wiring = wiringOfPlan(proof.plan);
  const log = trace === undefined ? {} : { trace };
  return connectController({ port, clock, wiring, signal: desk.signal, ...log });
}

/** What the model finds in the files, said once; the run goes on, and the board decides. */
function findingWords(documents: Proof["documents"]): string[] {
  const findings = findingsOf(documents).map(findingLine);
  return findings.length === 0
    ? []
    : ["By the model of the board's stages, before anything is energised:", ...findings];
}

/** Standard output of --json carries events only. */
function tell({ output }: ProveOptions, line: string): void {
  (output === "json" ? process.stderr : process.stdout).write(`${line}\n`);
}

/** Show the cautions; with a real bench and a keyboard, wait for the person's word. */
async function agreed(options: ProveOptions, proof: Proof, desk: RunDesk): Promise<boolean> {
  // Standard output of --json carries events only.
  const out = options.output === "json" ? process.stderr : process.stdout;
  for (const line of cautionLines(proof.plan.cautions, out.columns)) out.write(`${line}\n`);
  const real = portOf(options, proof) !== null;
  if (!real || options.yes || process.stdin.isTTY !== true) return true;
  out.write("Enter goes on and energises; any other key stops here.\n");
  const go = await waitForGo(process.stdin, desk.signal);
  if (!go) out.write("Stopped before anything was energised.\n");
  return go;
}

/** How a block is cleared, as a line to copy; nothing for other troubles. */
function wayOut(error: Error, { runs }: ProveOptions, { plan }: Proof): string {
  if (!(error instanceof StandingBlockError)) return "";
  const volts = plan.rails.map(({ rail }) => `--volts ${rail}=VOLTS`).join(" ");
  return `\nholdfast confirm-off ${plan.rig.name} --runs ${runs} --by INITIALS ${volts}`;
}

function saidStopped(): ExitStatus {
  process.stderr.write("Stopped before anything was energised.\n");
  return EXIT.stopped;
}

function isTrouble(error: unknown): error is Error {
  if (error instanceof UsageError) return false;
  return (
    isBenchError(error) || error instanceof JournalFault || error instanceof StandingBlockError
  );
}
