/**
 * What a live soak costs the computer it runs on: two cycles a second in real time, its screen on a pseudo-terminal
 * of 132 x 43. Processor time is read from the system. The modelled bench lives in the same process, paced to real
 * time by looking a thousand times a second; what it takes by itself is measured beside, told, and taken off.
 */
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { openNightBench } from "../../src/commands/night-bench.ts";
import { hasTerminals, OnTerminal } from "../screen/on-terminal.ts";
import { shippedProof } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";

const FOR_MS = 60_000;
const FOR_MS_FULL = 600_000;
const BENCH_MS = 15_000;
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
  try {
    // biome-ignore format: one option a line hides the command
    const args = ["soak", cyclingAtOnce(runs), "--hours", "1", "--every", "500", "--night", "--pace", "1", "--mute", "--runs", runs];
    const terminal = new OnTerminal(args, { columns: 132, rows: 43 });
    try {
      await untilSoaking(runs, terminal);
      const pid = programOf(terminal.pid);
      const frames = terminal.frameMs.length;
      const begun = { ms: performance.now(), cpuMs: cpuMs(pid) };
      await wait(full ? FOR_MS_FULL : FOR_MS);
      const tookMs = performance.now() - begun.ms;
      const share = (100 * (cpuMs(pid) - begun.cpuMs)) / tookMs;
      const perSecond = (1000 * (terminal.frameMs.length - frames)) / tookMs;
      const { cycles } = lastTally(runs);
      say(`${perSecond.toFixed(2)} frames a second, ${cycles} cycles counted`);
      const bench = await benchAlone();
      say(
        `${share.toFixed(1)} % with the paced bench in it, ${bench.toFixed(1)} % that bench alone`,
      );
      const percent = Math.round(10 * (share - bench)) / 10;
      report({
        name: `processor share of a soak at 2 cycles/s with its screen on, over ${Math.round(tookMs / 1000)} s, less that of its paced bench`,
        value: percent,
        unit: "% of one core",
        limit: `<= ${SHARE_PERCENT_MAX}`,
        holds: percent > 0 && percent <= SHARE_PERCENT_MAX && cycles > FOR_MS / 1000,
      });
    } finally {
      await terminal.dispose();
    }
  } finally {
    rmSync(runs, { recursive: true, force: true });
  }
}

/** Percent of one core for a paced bench on which nothing runs. */
async function benchAlone(): Promise<number> {
  const proof = await shippedProof("flasher-latch");
  const bench = await openNightBench(proof, { seed: 1, faults: [], scenario: null, paceRatio: 1 });
  try {
    // Its time runs from here on, as it does below a run.
    bench.clock.wake();
    await wait(SETTLED_MS);
    const begun = { ms: performance.now(), cpu: process.cpuUsage() };
    await wait(BENCH_MS);
    const { user, system } = process.cpuUsage(begun.cpu);
    return (100 * (user + system)) / 1000 / (performance.now() - begun.ms);
  } finally {
    bench.dispose();
  }
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

/** The shipped latch without its minutes of lowered heaters: what costs is cycling. */
function cyclingAtOnce(runs: string): string {
  const folder = join(runs, "latch");
  cpSync("sequences/flasher-latch", folder, { recursive: true });
  const path = join(folder, "sequence.yaml");
  writeFileSync(path, readFileSync(path, "utf8").replace(/^ *heaterLow: .*\n/m, ""));
  return folder;
}

/** User and system time of a process, ms (proc(5), stat: fields 14 and 15). */
function cpuMs(pid: number): number {
  const stat = readFileSync(`/proc/${pid}/stat`, "latin1");
  const fields = stat.slice(stat.lastIndexOf(")") + 2).split(" ");
  return (Number(fields[11]) + Number(fields[12])) * TICK_MS;
}
