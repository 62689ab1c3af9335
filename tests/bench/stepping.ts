/**
 * How near stepping comes to what settling, converting and the wire itself take: a hundred steps of one
 * line and eight channels each, over a pseudo-terminal against the bench in its own process at real
 * pace. Three ways in one run, in turn, so that they meet the same machine: a downloaded block, one
 * exchange a step, and a loop that asks for one thing at a time.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import { openSerialPort } from "../../src/bench/serial-port.ts";
import type { TimedWork } from "../../src/bench/timed-work.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import { createRealClock } from "../../src/clock/real-clock.ts";
import { shippedProof } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");
const BOARD = "sector-latch";
const LINE = "D";
const STEPS = 100;
const JOBS = 20;
const JOBS_FULL = 200;
/** One naive job takes as long as six of the others. */
const NAIVE_EVERY = 5;
const SETTLE_MS = 2;
const CHANNELS = 8;
/** 13 clocks of 125 kHz; the first conversion after a channel change is discarded (DS40001984A, 28.4). */
const CONVERSION_MS = 0.104;
/** Ten bits a byte at 500000 baud. */
const BYTE_MS = 0.02;
/** Of the downloaded block, which the controller steps by itself. */
const BLOCK_RATIO_MAX = 1.1;
/** Supervision looks at the rails this often while a run steps. */
const HEARTBEAT_MS = 100;

/** A hundred steps, from the first byte of the host to the last of the controller. */
interface Job {
  readonly wallMs: number;
  readonly floorMs: number;
}

interface Table {
  readonly controller: ControllerBench;
  readonly timed: TimedWork;
  readonly channels: readonly string[];
  /** Bytes over the wire so far, both ways. */
  readonly bytes: { count: number };
}

export async function figure(context: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-stepping-"));
  const { server, port } = await served(folder);
  try {
    const table = await connected(port);
    const block: Job[] = [];
    const exchange: Job[] = [];
    const naive: Job[] = [];
    for (let job = 0; job < (context.full ? JOBS_FULL : JOBS); job += 1) {
      block.push(await timedJob(table, () => inBlock(table)));
      exchange.push(await timedJob(table, () => oneExchangeEach(table)));
      if (job % NAIVE_EVERY === 0) naive.push(await timedJob(table, () => oneByOne(table)));
    }
    await table.controller.close();
    report(context, "one exchange a step", exchange, null);
    report(context, "downloaded block", block, BLOCK_RATIO_MAX);
    report(context, "one thing at a time", naive, null);
  } finally {
    server.kill("SIGKILL");
    rmSync(folder, { recursive: true, force: true });
  }
}

async function connected(port: string): Promise<Table> {
  const { plan } = await shippedProof(BOARD);
  const clock = createRealClock();
  const bytes = { count: 0 };
  const controller = await connectController({
    port: await openSerialPort(port, { clock }),
    clock,
    wiring: wiringOfPlan(plan),
    trace: (_, text) => {
      bytes.count += text.length + 1;
    },
  });
  const channels = plan.channels
    .filter(({ reads }) => reads.kind !== "rail")
    .slice(0, CHANNELS)
    .map(({ name }) => name);
  return { controller, timed: await controller.timed(), channels, bytes };
}

type Level = "low" | "high";

async function timedJob(table: Table, job: () => Promise<void>): Promise<Job> {
  const { bytes, controller } = table;
  const before = bytes.count;
  let looked: Promise<unknown> = Promise.resolve();
  const looks = setInterval(() => {
    looked = controller.scanRails();
  }, HEARTBEAT_MS);
  const begunMs = performance.now();
  try {
    await job();
  } finally {
    clearInterval(looks);
    await looked;
  }
  const wallMs = performance.now() - begunMs;
  const stepMs = SETTLE_MS + 2 * CHANNELS * CONVERSION_MS;
  return { wallMs, floorMs: STEPS * stepMs + (bytes.count - before) * BYTE_MS };
}

const levelAt = (step: number): Level => (step % 2 === 0 ? "high" : "low");

async function oneExchangeEach({ timed, channels }: Table): Promise<void> {
  for (let step = 0; step < STEPS; step += 1) {
    await timed.step({ levels: { [LINE]: levelAt(step) }, settleUs: 1000 * SETTLE_MS }, channels);
  }
}

/** What a script against any instrument does that has no other way. */
async function oneByOne({ controller, channels }: Table): Promise<void> {
  for (let step = 0; step < STEPS; step += 1) {
    await controller.setLines({ [LINE]: levelAt(step) });
    await new Promise((resolve) => setTimeout(resolve, SETTLE_MS));
    for (const name of channels) await controller.read([name], 1);
  }
}

/** The same steps run by the controller, the download included. */
async function inBlock({ timed, channels }: Table): Promise<void> {
  const steps = [0, 1].map((step) => ({
    levels: { [LINE]: levelAt(step) },
    settleUs: 1000 * SETTLE_MS,
  }));
  let told = 0;
  const onCodes = () => {
    told += 1;
  };
  await timed.block(steps, { channels, rounds: STEPS / 2, onCodes });
  if (told !== STEPS) throw new Error(`expected codes of ${STEPS} steps, got ${told}`);
}

function report(
  { report: tell }: FigureContext,
  name: string,
  jobs: readonly Job[],
  ratioMax: number | null,
): void {
  const ratios = jobs.map(({ wallMs, floorMs }) => wallMs / floorMs);
  const wallMs = at(
    jobs.map((job) => job.wallMs),
    0.5,
  );
  const floorMs = at(
    jobs.map((job) => job.floorMs),
    0.5,
  );
  for (const share of [0.5, 0.99]) {
    const ratio = Math.round(100 * at(ratios, share)) / 100;
    tell({
      name: `stepping, ${name}, p${100 * share}`,
      value: ratio,
      unit: `wall over floor of ${jobs.length} jobs of ${STEPS} steps; medians ${Math.round(wallMs)} over ${Math.round(floorMs)} ms (settles, conversions, bytes)`,
      limit: ratioMax === null ? "told, not limited" : `<= ${ratioMax}`,
      holds: ratioMax === null || ratio <= ratioMax,
    });
  }
}

function at(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
}

async function served(folder: string): Promise<{ server: ChildProcess; port: string }> {
  const link = join(folder, "bench");
  const program = ["--import", "tsx", "src/main.ts", "serve-bench", `sequences/${BOARD}`];
  const server = spawn(process.execPath, [...program, "--link", link, "--stop-with-input"], {
    cwd: root,
    stdio: ["pipe", "pipe", "inherit"],
  });
  for await (const line of createInterface({ input: server.stdout })) {
    if (line.includes("bench on")) break;
  }
  return { server, port: link };
}
