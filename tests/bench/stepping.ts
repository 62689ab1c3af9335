/**
 * How near stepping comes to what settling, converting and the wire itself take: a hundred steps of one
 * line and eight channels each, over a pseudo-terminal against the bench in its own process at real
 * pace, beside a loop that asks for one thing at a time. Both in one run, in turn, so that they meet the
 * same machine.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import { openSerialPort } from "../../src/bench/serial-port.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import { createRealClock } from "../../src/clock/real-clock.ts";
import { shippedProof } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");
const BOARD = "sector-latch";
const STEPS = 100;
const ROUNDS = 3;
const ROUNDS_FULL = 20;
const SETTLE_MS = 2;
const CHANNELS = 8;
/** 13 cycles of 125 kHz; the first conversion after a channel change is discarded. */
const CONVERSION_MS = 0.104;
/** Ten bits a byte at 500000 baud. */
const BYTE_MS = 0.02;
const RATIO_MAX = 1.6;
/** Supervision looks at the rails this often while a run steps. */
const HEARTBEAT_MS = 100;

interface Step {
  readonly wallMs: number;
  readonly floorMs: number;
}

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-stepping-"));
  const { server, port } = await served(folder);
  try {
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
    const names = plan.channels
      .filter(({ reads }) => reads.kind !== "rail")
      .slice(0, CHANNELS)
      .map(({ name }) => name);
    const wait = (ms: number) => clock.delay(ms);
    const together = async (level: "low" | "high"): Promise<void> => {
      await controller.setLines({ D: level });
      await wait(SETTLE_MS);
      await controller.readOnce(names);
    };
    const oneByOne = async (level: "low" | "high"): Promise<void> => {
      await controller.setLines({ D: level });
      await wait(SETTLE_MS);
      for (const name of names) await controller.read([name], 1);
    };
    const quick: Step[] = [];
    const naive: Step[] = [];
    const rounds = full ? ROUNDS_FULL : ROUNDS;
    for (let round = 0; round < rounds; round += 1) {
      quick.push(...(await stepped(controller, together, bytes)));
      naive.push(...(await stepped(controller, oneByOne, bytes)));
    }
    await controller.close();
    const floorMs = at(
      quick.map((step) => step.floorMs),
      0.5,
    );
    for (const [name, share, limited] of [
      ["p50", 0.5, true],
      ["p99", 0.99, false],
    ] as const) {
      const wallMs = at(
        quick.map((step) => step.wallMs),
        share,
      );
      const ratio = Math.round((100 * wallMs) / floorMs) / 100;
      report({
        name: `stepping ${name} wall over floor`,
        value: ratio,
        unit: `ratio, ${wallMs.toFixed(1)} ms over ${floorMs.toFixed(1)} ms: settle, conversions, bytes; ${quick.length} steps`,
        limit: limited ? `<= ${RATIO_MAX}` : "told, not limited",
        holds: !limited || ratio <= RATIO_MAX,
      });
    }
    const naiveMs = at(
      naive.map((step) => step.wallMs),
      0.5,
    );
    report({
      name: "stepping one thing at a time over the same floor",
      value: Math.round((100 * naiveMs) / floorMs) / 100,
      unit: `ratio, p50, ${naiveMs.toFixed(1)} ms a step in the same run`,
      limit: "told, not limited",
      holds: true,
    });
    say(`served on ${port}`);
  } finally {
    server.kill("SIGKILL");
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A round of steps with the rails looked at beside them, as in a run. */
async function stepped(
  controller: ControllerBench,
  step: (level: "low" | "high") => Promise<void>,
  bytes: { count: number },
): Promise<Step[]> {
  const steps: Step[] = [];
  let lookedMs = performance.now();
  for (let at = 0; at < STEPS; at += 1) {
    if (performance.now() - lookedMs >= HEARTBEAT_MS) {
      lookedMs = performance.now();
      await controller.scanRails();
    }
    const before = bytes.count;
    const begunMs = performance.now();
    await step(at % 2 === 0 ? "high" : "low");
    const wallMs = performance.now() - begunMs;
    const wireMs = (bytes.count - before) * BYTE_MS;
    steps.push({ wallMs, floorMs: SETTLE_MS + 2 * CHANNELS * CONVERSION_MS + wireMs });
  }
  return steps;
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
