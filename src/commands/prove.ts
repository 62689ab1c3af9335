/**
 * `holdfast prove`: files, bench, controller, journal, run, screen and record wired together. What
 * may be switched, and when, is the run's business; this file only makes sure that every way out
 * goes through it.
 */
import { isBenchError } from "../bench/bench-error.ts";
import { connectController } from "../bench/connect-controller.ts";
import type { ControllerBench } from "../bench/controller-bench.ts";
import { wiringOfPlan } from "../bench/wiring.ts";
import { createRealClock } from "../clock/real-clock.ts";
import { JournalFault } from "../journal/journal-fault.ts";
import { refuseWhileBlocked, StandingBlockError } from "../store/standing-block.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import type { Proof } from "./proof-folder.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { cautionLines, waitForGo } from "./prove/cautions.ts";
import { openProofBench, type ProofBench, portOf } from "./prove/proof-bench.ts";
import { proveOnce } from "./prove/prove-once.ts";
import type { ProveOptions } from "./prove/prove-options.ts";
import { openReporter, type Reporter } from "./prove/reporter.ts";
import { createRunFeed, type RunFeed } from "./prove/run-feed.ts";
import { StopDesk } from "./prove/stop-desk.ts";
import { onStopSignals } from "./prove/stop-signals.ts";
import type { StandardStreams } from "./standard-streams.ts";
import { UsageError } from "./usage-error.ts";

/** @throws UsageError when something was asked for that cannot be done */
export async function proveCommand(
  options: ProveOptions,
  streams: StandardStreams,
): Promise<ExitStatus> {
  const proof = await proofOrProblems(options.folder);
  if (proof === null) return EXIT.wrongUsage;
  const desk = new StopDesk();
  const forget = onStopSignals((signal) => desk.ask({ by: "signal", detail: signal }));
  try {
    if (portOf(options, proof) !== null) refuseWhileBlocked(options.runs, proof.plan.rig.name);
    if (!(await agreed(options, proof, desk))) return EXIT.stopped;
    return await proveOnBench({ options, proof, desk, streams });
  } catch (error) {
    if (desk.signal.aborted && error === desk.signal.reason) return saidStopped();
    if (!isTrouble(error)) throw error;
    process.stderr.write(`holdfast: ${error.message}${wayOut(error, options, proof)}\n`);
    return EXIT.trouble;
  } finally {
    forget();
  }
}

interface ProveGiven {
  readonly options: ProveOptions;
  readonly proof: Proof;
  readonly desk: StopDesk;
  readonly streams: StandardStreams;
}

async function proveOnBench(given: ProveGiven): Promise<ExitStatus> {
  const { options, proof, desk, streams } = given;
  const bench = await openProofBench(options, proof);
  let reporter: Reporter | null = null;
  const feed: RunFeed = createRunFeed((error) => {
    process.stderr.write(`Telling of the run failed (${String(error)}); the run goes on.\n`);
  });
  try {
    reporter = await openReporter({
      options,
      feed,
      streams,
      clock: createRealClock(),
      onStop: (key) => desk.ask({ by: "person", detail: key }),
    });
    const controller = await connected(bench, proof, desk);
    return await proveOnce({ options, proof, desk, bench, controller, feed, reporter });
  } finally {
    await reporter?.close();
    bench.dispose();
  }
}

function connected(bench: ProofBench, proof: Proof, desk: StopDesk): Promise<ControllerBench> {
  bench.release();
  const { port, clock } = bench;
  const wiring = wiringOfPlan(proof.plan);
  return connectController({ port, clock, wiring, signal: desk.signal });
}

/** Show the cautions; with a real bench and a keyboard, wait for the person's word. */
async function agreed(options: ProveOptions, proof: Proof, desk: StopDesk): Promise<boolean> {
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
