/**
 * What a live soak costs the computer it runs on: two cycles a second in real time over a port, its screen on a
 * pseudo-terminal of 132 x 43. The modelled bench at the other end of the port is a process of its own. Processor
 * time is read from the system.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { hasTerminals, OnTerminal } from "../screen/on-terminal.ts";
import type { FigureContext } from "./figure.ts";

const BOARD = "sequences/flasher-latch";
const FOR_MS = 60_000;
const FOR_MS_FULL = 600_000;
const SHARE_PERCENT_MAX = 5;
/** Rails, warm-up in real time and the first full set of readings, on a slow day. */
const SOAKING_MS_MAX = 120_000;
/** Compilers and caches have warmed by then. */
const SETTLED_MS = 5000;
/** USER_HZ of Linux, proc(5). */
const TICK_MS = 10;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  if (!hasTerminals)
    throw new Error("Expected script (util-linux) on Linux for a terminal, found none.");
  const runs = mkdtempSync(join(tmpdir(), "holdfast-idle-"));
  const port = join(runs, "port");
  const bench = await servedBench(port);
  try {
    // biome-ignore format: one option a line hides the command
    const args = ["soak", BOARD, "--port", port, "--yes", "--hours", "1", "--every", "500", "--mute", "--runs", runs];
    const terminal = new OnTerminal(args, { columns: 132, rows: 43 });
    try {
      await untilSoaking(runs, terminal);
      const pid = programOf(terminal.pid);
      const frames = terminal.frameMs.length;
      const before = lastTally(runs).cycles;
      const begun = { ms: performance.now(), cpuMs: cpuMs(pid) };
      await wait(full ? FOR_MS_FULL : FOR_MS);
      const tookMs = performance.now() - begun.ms;
      const share = (100 * (cpuMs(pid) - begun.cpuMs)) / tookMs;
      const perSecond = (1000 * (terminal.frameMs.length - frames)) / tookMs;
      const cycles = lastTally(runs).cycles - before;
      say(`${perSecond.toFixed(2)} frames a second, ${cycles} cycles counted meanwhile`);
      const percent = Math.round(10 * share) / 10;
      report({
        name: `processor share of a soak at 2 cycles/s with its screen on, over ${Math.round(tookMs / 1000)} s`,
        value: percent,
        unit: "% of one core",
        limit: `<= ${SHARE_PERCENT_MAX}`,
        holds: percent > 0 && percent <= SHARE_PERCENT_MAX && cycles > tookMs / 1000,
      });
    } finally {
      await terminal.dispose();
    }
  } finally {
    bench.kill();
    rmSync(runs, { recursive: true, force: true });
  }
}

/** @returns the bench in its own process, ready on that path */
async function servedBench(port: string): Promise<ChildProcess> {
  const args = ["src/main.ts", "serve-bench", BOARD, "--modelled", "--link", port];
  const bench = spawn(process.execPath, ["--import", "tsx", ...args], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  await once(bench.stdout, "data");
  return bench;
}

function journalText(runs: string): string {
  const name = readdirSync(runs).find((one) => one.includes("flasher-latch"));
  return name === undefined ? "" : readFileSync(join(runs, name, "journal.ndjson"), "utf8");
}

async function untilSoaking(runs: string, terminal: OnTerminal): Promise<void> {
  const untilMs = performance.now() + SOAKING_MS_MAX;
  while (!journalText(runs).includes('"soak-readings"')) {
    if (performance.now() > untilMs) {
      throw new Error(`It was not soaking in time; it showed:\n${terminal.grid().join("\n")}`);
    }
    await wait(500);
  }
  await wait(SETTLED_MS);
}

function lastTally(runs: string): { cycles: number } {
  const tallies = journalText(runs)
    .split("\n")
    .filter((line) => line.includes('"soak-tally"'));
  return { cycles: Number(/"cycles":(\d+)/.exec(tallies.at(-1) ?? "")?.[1] ?? 0) };
}

/** The program below the one that owns the terminal. */
function programOf(pid: number): number {
  const children = readFileSync(`/proc/${pid}/task/${pid}/children`, "utf8").trim().split(" ");
  const child = Number(children[0]);
  if (!Number.isInteger(child) || child <= 0) throw new Error(`process ${pid} has no child`);
  return child;
}

/** User and system time of a process, ms (proc(5), stat: fields 14 and 15). */
function cpuMs(pid: number): number {
  const stat = readFileSync(`/proc/${pid}/stat`, "latin1");
  const fields = stat.slice(stat.lastIndexOf(")") + 2).split(" ");
  return (Number(fields[11]) + Number(fields[12])) * TICK_MS;
}
