/**
 * `holdfast walk`: touch each point of the unpowered board in turn, and be told which lead is on it.
 * On the emulated bench a simulated hand does the touching.
 */
import { createInterface } from "node:readline";
import { connectController } from "../bench/connect-controller.ts";
import { wiringOfPlan } from "../bench/wiring.ts";
import { voltsText } from "../measure/volts-text.ts";
import { LeadWalk } from "../run/lead-walk.ts";
import { type WalkedPoint, walkSentences } from "../verdict/lead-walk.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { openProofBench, type ProofBench } from "./prove/proof-bench.ts";
import type { ProveOptions } from "./prove/prove-options.ts";
import { onStopSignals } from "./prove/stop-signals.ts";

const CAUTIONS = [
  "The board must be dead: supplies off and unplugged, what is stored bled off and measured.",
  "The walk lead: the controller's 5 V through 10 kOhm. Touch one point at a time.",
  "These cautions replace neither local codes nor licensed practice.",
];
const WORDS = "Without a touch: skip, back, stop.";
/** The simulated hand finds each point, rests on it and goes on. */
const HAND_MS = { before: 300, on: 900 };

/** @throws UsageError, BenchError, RunFault */
export async function walkCommand(options: ProveOptions, io: CheckIo): Promise<ExitStatus> {
  const proof = await proofOrProblems(options.folder);
  if (proof === null) return EXIT.wrongUsage;
  for (const line of CAUTIONS) io.out(line);
  const bench = await openProofBench(options, proof);
  const ended = new AbortController();
  const forget = onStopSignals(() => ended.abort());
  try {
    bench.release();
    const { port, clock } = bench;
    const controller = await connectController({
      port,
      clock,
      wiring: wiringOfPlan(proof.plan),
      signal: ended.signal,
    });
    try {
      const walk = new LeadWalk({ plan: proof.plan, bench: controller, clock });
      await walk.begin();
      const points = await walked(walk, bench, io, ended);
      return told(points, ended.signal.aborted, io);
    } finally {
      await controller.close();
    }
  } finally {
    forget();
    bench.dispose();
  }
}

async function walked(
  walk: LeadWalk,
  bench: ProofBench,
  io: CheckIo,
  ended: AbortController,
): Promise<WalkedPoint[]> {
  const found = new Map<string, WalkedPoint>();
  let passOver: "skip" | "back" | null = null;
  let present = new AbortController();
  const hand = bench.touch;
  const reader = hand === null ? createInterface({ input: process.stdin, terminal: false }) : null;
  reader?.on("line", (text) => {
    const word = text.trim();
    if (word === "stop") ended.abort();
    else if (word === "skip" || word === "back") passOver = word;
    else return io.out(WORDS);
    present.abort();
  });
  // Nobody is there any more who could touch or say that they cannot.
  reader?.on("close", () => {
    ended.abort();
    present.abort();
  });
  if (hand === null) io.out(WORDS);
  const { points } = walk;
  let at = 0;
  while (at < points.length && !ended.signal.aborted) {
    const point = points[at] ?? "";
    present = new AbortController();
    passOver = null;
    io.out(`Touch ${point} (${at + 1} of ${points.length})`);
    const touching = hand === null ? null : simulatedTouch(bench, point, present);
    const finding = await walk.touch(point, (moved) => showMoved(moved), present.signal);
    await touching;
    clearLive();
    if (passOver === "back") {
      at = Math.max(0, at - 1);
      continue;
    }
    // A hand that touched for a while and saw nothing has found an open lead.
    const isOpen = finding === null && hand !== null;
    found.set(point, {
      channel: point,
      finding: isOpen ? { kind: "nothing moved" } : finding,
    });
    at += 1;
  }
  reader?.close();
  return points.map((channel) => found.get(channel) ?? { channel, finding: null });
}

/** The same touch that a person makes, and its end; the point is given up when nothing was seen of it. */
async function simulatedTouch(
  { clock, touch }: ProofBench,
  point: string,
  present: AbortController,
): Promise<void> {
  await clock.delay(HAND_MS.before);
  touch?.(point, true);
  await clock.delay(HAND_MS.on);
  touch?.(point, false);
  await clock.delay(HAND_MS.on);
  present.abort();
}

function showMoved(moved: readonly { readonly channel: string; readonly byV: number }[]): void {
  if (process.stdout.isTTY !== true) return;
  const text = moved
    .slice(0, 4)
    .map(({ channel, byV }) => `${channel} ${voltsText(byV)}`)
    .join("  ");
  process.stdout.write(`\r  ${text.padEnd(60).slice(0, 76)}`);
}

function clearLive(): void {
  if (process.stdout.isTTY === true) process.stdout.write(`\r${" ".repeat(78)}\r`);
}

function told(points: readonly WalkedPoint[], stopped: boolean, io: CheckIo): ExitStatus {
  for (const sentence of walkSentences(points)) io.out(sentence);
  const right = points.filter(({ finding }) => finding?.kind === "right").length;
  io.out(`${right} of ${points.length} leads are right.`);
  if (right === points.length) return EXIT.pass;
  return stopped ? EXIT.stopped : EXIT.notPass;
}
