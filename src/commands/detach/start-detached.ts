/**
 * Start this same command once more as a process that goes on by itself: in a session of its own, so that
 * no terminal that closes reaches it, with a file for what it says. The one who asked waits until the run
 * has really begun, or is told what kept it from that.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { closeSync, mkdirSync, openSync, readFileSync, rmSync } from "node:fs";
import { join, relative } from "node:path";
import { messageOf } from "../../journal/system-error.ts";
import { EXIT, type ExitStatus } from "../exit-status.ts";
import type { RunDesk } from "../prove/run-desk.ts";
import { UsageError } from "../usage-error.ts";
import { type BegunRun, LOG_VARIABLE } from "./detached-self.ts";

export interface StartDetachedGiven {
  readonly runs: string;
  /** A stop before the run has begun; a hang-up is none, as no terminal matters to it. */
  readonly desk: Pick<RunDesk, "signal" | "stopWish">;
  readonly json: boolean;
  readonly out: (line: string) => void;
  readonly error: (line: string) => void;
}

type Started =
  | { readonly kind: "begun"; readonly run: BegunRun }
  | { readonly kind: "ended"; readonly status: number | null }
  /** The starter's own terminal went; the run has nothing to do with that. */
  | { readonly kind: "left" };

/** A process that ended before its run began has passed nothing, whatever else it says. */
const KEPT_FROM = [EXIT.wrongUsage, EXIT.stopped] as const;

/** @returns 0 once the run has begun, else what its process left */
export async function startDetached(given: StartDetachedGiven): Promise<ExitStatus> {
  const log = join(given.runs, `.starting-${process.pid}.log`);
  const child = spawned(given.runs, log);
  const started = await untilBegun(child, given.desk);
  if (child.connected) child.disconnect();
  child.unref();
  if (started.kind === "left") return EXIT.pass;
  if (started.kind === "begun") {
    for (const line of begunLines(started.run, given.json)) given.out(line);
    return EXIT.pass;
  }
  given.error(readFileSync(log, "utf8").trimEnd());
  rmSync(log, { force: true });
  given.error("holdfast: No run was begun; what kept it is said above.");
  return KEPT_FROM.find((status) => status === started.status) ?? EXIT.trouble;
}

/** @throws UsageError when there is no place for the file */
function spawned(runs: string, log: string): ChildProcess {
  const file = logFile(runs, log);
  try {
    const [script = "", ...args] = process.argv.slice(1);
    return spawn(process.execPath, [...process.execArgv, script, ...args], {
      detached: true,
      stdio: ["ignore", file, file, "ipc"],
      env: { ...process.env, [LOG_VARIABLE]: log },
    });
  } finally {
    closeSync(file);
  }
}

function logFile(runs: string, log: string): number {
  try {
    mkdirSync(runs, { recursive: true });
    return openSync(log, "ax", 0o600);
  } catch (error) {
    throw new UsageError(
      `Expected a folder for runs at "${runs}" that can be written to, but ${messageOf(error)}. Name another with --runs.`,
    );
  }
}

function untilBegun(child: ChildProcess, desk: StartDetachedGiven["desk"]): Promise<Started> {
  return new Promise((resolve, reject) => {
    const stopped = (): void => {
      if (desk.stopWish?.detail === "SIGHUP") settle({ kind: "left" });
      else child.kill("SIGTERM");
    };
    const settle = (started: Started): void => {
      desk.signal.removeEventListener("abort", stopped);
      resolve(started);
    };
    child.once("message", (run) => settle({ kind: "begun", run: run as BegunRun }));
    child.once("exit", (status) => settle({ kind: "ended", status }));
    child.once("error", reject);
    desk.signal.addEventListener("abort", stopped, { once: true });
    if (desk.signal.aborted) stopped();
  });
}

function begunLines(run: BegunRun, json: boolean): string[] {
  if (json) return [JSON.stringify(run)];
  const folder = relative("", run.folder) || run.folder;
  const log = run.log === null ? [] : [`Says:      ${relative("", run.log)}`];
  const reach =
    run.unreached === null
      ? [`Come back: holdfast attach ${folder}`]
      : [`Nobody can attach to it: ${run.unreached}. It is stopped by: kill ${run.process}`];
  return [
    `The run has begun and goes on by itself, as process ${run.process}.`,
    ...reach,
    `Look on:   holdfast follow ${folder}`,
    ...log,
  ];
}
