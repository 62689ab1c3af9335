/** One case: a bench in its own process, a host in its own process, and an end brought about. */
import { type ChildProcess, spawn } from "node:child_process";
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { setTimeout as wait } from "node:timers/promises";
import { parse } from "yaml";
import type { JournalEntry, RunEvent } from "../../../src/events/events.ts";
import { parseJournal } from "../../../src/journal/read-journal.ts";
import type { BenchLogEntry } from "../../../src/simulate/bench-log.ts";
import {
  type Conduct,
  conductAt,
  type Ending,
  endingAt,
  type Moment,
  momentOf,
} from "./endings.ts";
import { type RailLimits, unsafeIn } from "./judge.ts";
import { journalPath, journalTail, MomentMissed, readLog } from "./left-on-disk.ts";

export interface Case {
  readonly ending: Ending;
  readonly powered: "bus" | "separate";
  readonly seed: number;
}

export interface CaseResult {
  readonly name: string;
  readonly moment: Moment;
  readonly exitStatus: number | string;
  readonly tookS: number;
  /** What was wrong, in words; empty when the case holds. */
  readonly wrong: readonly string[];
}

const root = resolve(import.meta.dirname, "../../..");
const PACE = 10;
/** Warm-up is not what is measured here: cathodes that heat four times as fast. */
const quickCathodes = ["V1a", "V1b"].flatMap((part) => ["--fault", `${part}.warmUpScale=0.25`]);
/** At ten times real time a slow sync of a busy disk is a stall no real bench would have. */
const scratch = existsSync("/dev/shm") ? "/dev/shm" : tmpdir();
/** Wall limits; every wait in here is bounded. */
const START_MS = 15_000;
const PHASE_MS = 15_000;
const EXIT_MS = 12_000;
const QUIET_MS = 4_000;

/** A pacing stall longer than a dead-man (60 ms of wall here) ends a run before its moment comes. */
const ATTEMPTS_MAX = 4;

/**
 * Run one case. An attempt whose moment never came is judged for safety all the same, then made
 * again, because the end that was asked for has not been tried.
 */
export async function runCase(one: Case): Promise<CaseResult> {
  const begun = performance.now();
  const { powered, seed } = one;
  const moment = momentOf(seed);
  const ending = endingAt(one.ending, moment);
  const wrong: string[] = [];
  let attempt: Attempt = { reached: false, exitStatus: "none", wrong: [] };
  for (let count = 1; count <= ATTEMPTS_MAX && !attempt.reached; count += 1) {
    attempt = await attemptCase({ ...one, ending }, moment);
    wrong.push(...attempt.wrong);
  }
  if (!attempt.reached) wrong.push(`${moment.phase} was not reached in ${ATTEMPTS_MAX} attempts`);
  const tookS = (performance.now() - begun) / 1000;
  const name = `${ending.name}, ${powered}, seed ${seed}`;
  return { name, moment, exitStatus: attempt.exitStatus, tookS, wrong };
}

interface Attempt {
  readonly reached: boolean;
  readonly exitStatus: number | string;
  readonly wrong: readonly string[];
}

async function attemptCase({ ending, powered, seed }: Case, moment: Moment): Promise<Attempt> {
  const folder = mkdtempSync(join(scratch, "holdfast-ends-"));
  const proof = shortenedProof(folder);
  const conduct = conductAt(moment);
  const bench = startBench(folder, proof, { powered, seed, faults: conduct.faults });
  let host: ChildProcess | null = null;
  const wrong: string[] = [];
  let exitStatus: number | string = "none";
  let reached = true;
  try {
    const port = await bench.ready;
    host = startHost(folder, proof, { port, ending, seed, conduct });
    if (ending.act.to !== "keyboard") host.stdin?.write(conduct.typed);
    const exited = new Promise<number | string>((done) =>
      host?.once("exit", (code, signal) => done(code ?? signal ?? "none")),
    );
    try {
      await untilMoment(ending, moment, { folder, exited });
    } catch (error) {
      if (!(error instanceof MomentMissed)) throw error;
      reached = false;
    }
    bench.send({ do: "mark", text: "end brought about" });
    if (reached) bringAbout(ending, host, bench);
    if (ending.act.to === "disk") await Promise.race([exited, wait(PHASE_MS)]);
    exitStatus = await endOfHost(
      reached ? ending : { ...ending, act: { to: "nobody" } },
      host,
      exited,
      bench,
    );
    await bench.untilQuiet(QUIET_MS);
    bench.send({ do: "quit" });
    await bench.stopped;
    const entries = readLog(folder);
    const stalled = ending.mayPass && closedBy(folder) === "dead-man";
    if (stalled) reached = false;
    wrong.push(...unsafeIn({ entries, actMs: actOf(entries, ending), limits: limitsOf(proof) }));
    wrong.push(
      ...wrongInHost(folder, reached ? ending : { ...ending, mayPass: undefined }, exitStatus),
    );
  } catch (error) {
    wrong.push(error instanceof Error ? error.message : String(error));
  } finally {
    host?.kill("SIGKILL");
    bench.child.kill("SIGKILL");
    if (process.env["HOLDFAST_KEEP"] === undefined)
      rmSync(folder, { recursive: true, force: true });
    else process.stderr.write(`${ending.name} kept in ${folder}\n`);
  }
  return { reached, exitStatus, wrong };
}

async function untilMoment(
  ending: Ending,
  moment: Moment,
  { folder, exited }: { readonly folder: string; readonly exited: Promise<unknown> },
): Promise<void> {
  if (ending.act.to === "disk") return;
  const journal = journalTail(folder);
  await journal.untilPhase(moment.phase, exited);
  if (ending.act.to === "nobody" && moment.phase === "standby") {
    await journal.until('"kind":"standby-ended"', exited);
  } else if (ending.act.to === "nobody") await journal.untilPhase("powering down", exited);
  else await wait(moment.afterMs / PACE);
}

function closedBy(folder: string): string | null {
  const path = journalPath(folder);
  return path === null ? null : (/"cause":"([^"]+)"/.exec(readFileSync(path, "utf8"))?.[1] ?? null);
}

/** The shipped latch with its two-minute hold cut to seconds: the end is what is measured here. */
function shortenedProof(folder: string): string {
  const proof = join(folder, "proof");
  cpSync(join(root, "sequences/flasher-latch"), proof, { recursive: true });
  const path = join(proof, "sequence.yaml");
  writeFileSync(
    path,
    readFileSync(path, "utf8").replaceAll(/forMs: \d{4,}(?=[\s,}])/g, "forMs: 3000"),
  );
  return proof;
}

function limitsOf(proof: string): RailLimits {
  const { rails } = parse(readFileSync(join(proof, "board.yaml"), "utf8")) as {
    rails: Record<
      "heater" | "bias" | "plate",
      { windowV: [number, number]; safeV: number; fallMs: number }
    >;
  };
  return {
    plateSafeV: rails.plate.safeV,
    biasLowV: rails.bias.windowV[0],
    biasHighV: rails.bias.windowV[1],
    off: rails,
  };
}

interface BenchProcess {
  readonly child: ChildProcess;
  readonly ready: Promise<string>;
  readonly stopped: Promise<void>;
  send(control: Readonly<Record<string, unknown>>): void;
  /** Until the last volts of the log are all low, at most so long. */
  untilQuiet(wallMs: number): Promise<void>;
}

function startBench(
  folder: string,
  proof: string,
  { powered, seed, faults }: { powered: string; seed: number; faults: readonly string[] },
): BenchProcess {
  const log = join(folder, "bench.ndjson");
  const child = spawn(
    process.execPath,
    // biome-ignore format: one option a line hides the command
    ["src/main.ts", "serve-bench", proof, "--pace", String(PACE), "--powered", powered, "--log", log, "--seed", String(seed), ...quickCathodes, ...faults.flatMap((fault) => ["--fault", fault])],
    { cwd: root, stdio: ["pipe", "pipe", "inherit"] },
  );
  const ready = new Promise<string>((done, fail) => {
    createInterface({ input: child.stdout }).on("line", (line) => {
      const path = /\/dev\/\S+/.exec(line)?.[0];
      if (path !== undefined) done(path);
    });
    child.once("exit", () => fail(new Error("the bench ended before it was ready")));
    wait(START_MS).then(() => fail(new Error("the bench was not ready in time")));
  });
  const stopped = new Promise<void>((done) => child.once("exit", () => done()));
  return {
    child,
    ready,
    stopped,
    send: (control) => void child.stdin.write(`${JSON.stringify(control)}\n`),
    async untilQuiet(wallMs) {
      const until = performance.now() + wallMs;
      while (performance.now() < until) {
        const last = readLog(folder).findLast((entry) => entry.kind === "volts");
        if (last && Object.values(last.rails).every((volts) => Math.abs(volts) < 1)) return;
        await wait(50);
      }
    },
  };
}

interface HostGiven {
  readonly port: string;
  readonly ending: Ending;
  readonly seed: number;
  readonly conduct: Conduct;
}

function startHost(
  folder: string,
  proof: string,
  { port, ending, seed, conduct }: HostGiven,
): ChildProcess {
  const inject = join(import.meta.dirname, "inject.ts");
  const node = [
    process.execPath,
    // Node reads TypeScript by itself but not the screen's JSX, which only a terminal loads.
    ...(ending.act.to === "keyboard" ? ["--import", "tsx"] : []),
    ...(ending.inject ? ["--import", inject] : []),
    "src/main.ts",
    conduct.command,
    proof,
    ...conduct.options,
    "--port",
    port,
    "--yes",
    "--runs",
    join(folder, "runs"),
  ];
  const env = {
    ...process.env,
    HOLDFAST_CLOCK_SCALE: String(PACE),
    HOLDFAST_BENCH_INJECT: ending.inject,
    // A compiler cache is a file too, and a full disk must meet the journal alone.
    TSX_DISABLE_CACHE: ending.act.to === "disk" ? "1" : undefined,
    TERM: "xterm",
  };
  const quoted = node.map((word) => `'${word}'`).join(" ");
  const command =
    ending.act.to === "keyboard"
      ? ["script", "-qec", quoted, "/dev/null"]
      : ending.act.to === "disk"
        ? // Files may grow to some 1-kB blocks, then writing fails as on a full disk.
          ["bash", "-c", `trap '' XFSZ; ulimit -f ${24 + ((seed * 7) % 40)}; exec ${quoted} --json`]
        : [...node, "--json"];
  const [program = "", ...args] = command;
  return spawn(program, args, {
    cwd: root,
    env,
    stdio: ["pipe", "ignore", process.env["HOLDFAST_KEEP"] ? "inherit" : "ignore"],
  });
}

function bringAbout(ending: Ending, host: ChildProcess, bench: BenchProcess): void {
  const { act } = ending;
  switch (act.to) {
    case "host":
      host.kill(act.signal);
      return;
    case "keyboard":
      host.stdin?.write(act.key);
      return;
    case "bench":
      bench.send(act.control);
      return;
    case "lead":
      bench.send({ do: "change", part: `lead.${act.channel}`, parameter: "open", value: 1 });
      // The person then stops the run: the fall of that rail can no longer be seen.
      host.kill("SIGTERM");
      return;
    case "nobody":
    case "disk":
      return;
  }
}

async function endOfHost(
  ending: Ending,
  host: ChildProcess,
  exited: Promise<number | string>,
  bench: BenchProcess,
): Promise<number | string> {
  if (ending.act.to === "host" && ending.act.signal === "SIGSTOP") {
    await bench.untilQuiet(QUIET_MS);
    host.kill("SIGCONT");
  }
  if (ending.inject === "hang") {
    await bench.untilQuiet(QUIET_MS);
    host.kill("SIGKILL");
  }
  const late = wait(EXIT_MS).then(() => "late");
  const status = await Promise.race([exited, late]);
  if (status === "late") throw new Error(`the host had not ended ${EXIT_MS / 1000} s later`);
  return status;
}

/** A full disk comes when it comes: its end is when the controller first switches a rail off. */
function actOf(entries: readonly BenchLogEntry[], ending: Ending): number {
  if (ending.act.to === "disk") {
    const plateOn = entries.findLast((entry) => entry.kind === "outputs" && (entry.mask & 1) !== 0);
    return plateOn?.ms ?? 0;
  }
  return entries.find((entry) => entry.kind === "mark")?.ms ?? 0;
}

function wrongInHost(folder: string, ending: Ending, exitStatus: number | string): string[] {
  const wrong: string[] = [];
  if (ending.mayPass && exitStatus !== 0) wrong.push(`exit status ${exitStatus}, expected 0`);
  if (!ending.mayPass && exitStatus === 0) wrong.push("exit status 0 after a broken run");
  const path = journalPath(folder);
  // A run that could not begin, such as a greeting that came too late, has nothing to leave.
  const energised = readLog(folder).some((entry) => entry.kind === "outputs" && entry.mask !== 0);
  if (path === null) return energised ? [...wrong, "no journal was left"] : wrong;
  let entries: readonly JournalEntry[];
  try {
    entries = parseJournal(readFileSync(path)).entries;
  } catch (error) {
    return [...wrong, `journal not readable: ${error instanceof Error ? error.message : error}`];
  }
  const events = entries.map((entry) => entry.event);
  const closed = events.find((event) => event.kind === "run-closed");
  if (!ending.mayPass && closed?.verdict === "pass") wrong.push("the journal says pass");
  return [...wrong, ...wrongFalls(events, ending)];
}

function wrongFalls(events: readonly RunEvent[], ending: Ending): string[] {
  const { act } = ending;
  if (act.to !== "lead") return [];
  const rail = act.channel.split(".")[0];
  const fall = events.findLast((event) => event.kind === "rail-fall" && event.rail === rail);
  const raised = events.some(
    (event) => event.kind === "rail-switched" && event.rail === rail && event.on,
  );
  if (!raised) return [];
  if (fall?.kind !== "rail-fall") return [`no word on the fall of ${rail}`];
  return fall.proof === "verified" ? [`${rail} called off over a broken lead`] : [];
}
