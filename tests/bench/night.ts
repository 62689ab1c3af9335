/**
 * A night as a person starts it: the program soaks the shipped latch on the modelled bench, with durable
 * sealing, for 12 hours at two cycles a second and for 48; time on the wall, peak memory, bytes an hour.
 */
import { execFileSync, fork } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, readdirSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");
const HOURS = 12;
const LONG_HOURS = 48;
const WALL_S_MAX = 30;
const MEMORY_GROWTH_MAX = 1.1;
/** Bytes of a run beside those of a quarter of it, against four times as many. */
const LINEAR_MAX = 1.05;
const HOUR_BYTES_MAX = 1024 * 1024;

interface NightJob {
  readonly hours: number;
  readonly runs: string;
}

interface NightResult {
  readonly status: number;
  readonly wallS: number;
  readonly cpuS: number;
  readonly peakMiB: number;
}

export async function figure({ report, say }: FigureContext): Promise<void> {
  execFileSync("npm", ["run", "build"], { cwd: root, stdio: ["ignore", "ignore", "inherit"] });
  const short = await night(HOURS, say);
  report({
    name: `${HOURS} h at 2 cycles a second, sealed durably, from start to record`,
    value: round(short.wallS),
    unit: "s of wall time",
    limit: `<= ${WALL_S_MAX}`,
    holds: short.status === 0 && short.wallS <= WALL_S_MAX,
  });
  report({
    name: `processor time of these ${HOURS} h`,
    value: round(short.cpuS),
    unit: "s",
    limit: "told, not limited",
    holds: true,
  });
  report({
    name: "journal",
    value: Math.round(short.journalBytes / HOURS),
    unit: "bytes an hour",
    limit: `<= ${HOUR_BYTES_MAX}`,
    holds: short.journalBytes / HOURS <= HOUR_BYTES_MAX,
  });
  const long = await night(LONG_HOURS, say);
  report({
    name: `peak memory, ${LONG_HOURS} h beside ${HOURS} h (${round(long.peakMiB)} and ${round(short.peakMiB)} MiB)`,
    value: round(long.peakMiB / short.peakMiB, 3),
    unit: "ratio",
    limit: `<= ${MEMORY_GROWTH_MAX}`,
    holds: long.status === 0 && long.peakMiB / short.peakMiB <= MEMORY_GROWTH_MAX,
  });
  const times = LONG_HOURS / HOURS;
  for (const [name, part] of [
    ["journal", long.journalBytes / short.journalBytes],
    ["everything in the run's folder", long.folderBytes / short.folderBytes],
    ["wall time", long.wallS / short.wallS],
  ] as const) {
    const ratio = part / times;
    report({
      name: `growth of ${name} from ${HOURS} to ${LONG_HOURS} h, against ${times} times`,
      value: round(ratio, 3),
      unit: "ratio",
      limit: `<= ${LINEAR_MAX}`,
      holds: ratio <= LINEAR_MAX,
    });
  }
}

async function night(hours: number, say: FigureContext["say"]) {
  const runs = mkdtempSync(join(tmpdir(), "holdfast-night-"));
  try {
    const result = await inAProcess({ hours, runs });
    const [run] = readdirSync(runs).filter((name) => statSync(join(runs, name)).isDirectory());
    const folder = join(runs, run ?? "");
    const bytes = (name: string) => statSync(join(folder, name)).size;
    const folderBytes = readdirSync(folder).reduce((sum, name) => sum + bytes(name), 0);
    say(
      `${hours} h: status ${result.status}, ${round(result.wallS)} s, ${round(result.peakMiB)} MiB`,
    );
    return { ...result, journalBytes: bytes("journal.ndjson"), folderBytes };
  } finally {
    rmSync(runs, { recursive: true, force: true });
  }
}

/** As installed, in a process of its own; what it prints of the night is for nobody. */
async function inAProcess({ hours, runs }: NightJob): Promise<NightResult> {
  const args = ["soak", "--hours", String(hours), "--unattended", "--night", "--plain"];
  const child = fork(join(root, "dist/main.js"), [...args, "--runs", runs], {
    execArgv: ["--import", new URL("./night-told.mjs", import.meta.url).href],
    stdio: ["ignore", "ignore", "inherit", "ipc"],
  });
  const [message] = (await once(child, "message")) as [NightResult];
  return message;
}

function round(value: number, digits = 1): number {
  return Number(value.toFixed(digits));
}
