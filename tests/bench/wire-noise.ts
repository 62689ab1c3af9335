/**
 * The client and the real firmware over a link that spoils bytes both ways: how many wrong values are taken for
 * right, how many outputs move that nobody asked, and what is left of the throughput.
 */
import { isBenchError } from "../../src/bench/bench-error.ts";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import type { ControllerWiring } from "../../src/bench/wiring.ts";
import { firmwareText } from "../../src/commands/emulated-fixture.ts";
import type { DrivenLevel } from "../../src/events/levels.ts";
import { type EmulatedBench, openEmulatedBench } from "../../src/simulate/emulated-bench.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";
import type { FigureContext } from "./figure.ts";
import { type Noise, noisyPort } from "./noisy-port.ts";
import { seededChance } from "./seeded-chance.ts";

const RATES = [1e-4, 1e-3, 1e-2] as const;
const EXCHANGES = 12_000;
const EXCHANGES_FULL = 100_000;
const LINES = ["A", "B", "C", "D", "E"] as const;
const CHANNELS = Array.from({ length: 22 }, (_, at) => `channel ${at + 1}`);

const wiring: ControllerWiring = {
  rig: null,
  rails: new Map(),
  lines: new Map(
    LINES.map((line, at) => [line, { output: 4 + at, releasedLevel: "low", driverUs: 0 }]),
  ),
  channels: new Map(CHANNELS.map((name, at) => [name, at + 1])),
  filterUs: new Map(),
};

/** A byte is on its way for so long at most, behind the line it stands in. */
const PANIC_ARRIVES_MS = 5;

/** Codes that differ in every figure, so that a digit lost or changed is another channel's or nobody's. */
const codeOf = (channel: number) => (channel * 389 + 17) % 1024;

interface Outcome {
  exchanges: number;
  wrongValues: number;
  wrongSwitches: number;
  refusedOrLost: number;
  reconnects: number;
  emulatedMs: number;
}

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const count = Math.round((full ? EXCHANGES_FULL : EXCHANGES) / RATES.length);
  let quietPerS = 0;
  for (const rate of [0, ...RATES]) {
    const asked = { count: rate === 0 ? Math.round(count / 4) : count, say };
    const { outcome, noise } = await exchanged(rate, asked);
    const perS = Math.round((1000 * outcome.exchanges) / outcome.emulatedMs);
    if (rate === 0) {
      quietPerS = perS;
      continue;
    }
    const about = `of ${outcome.exchanges} exchanges at ${rate} a byte, ${noise.suffered} bytes spoiled`;
    for (const [what, wrong] of [
      ["wrong values accepted", outcome.wrongValues],
      ["wrong switches", outcome.wrongSwitches],
    ] as const) {
      report({
        name: `wire-noise ${what} at ${rate}`,
        value: wrong,
        unit: about,
        limit: "= 0",
        holds: wrong === 0,
      });
    }
    report({
      name: `wire-noise throughput at ${rate}`,
      value: perS,
      unit: `exchanges/s of the controller's time, ${quietPerS} on a quiet link; ${outcome.refusedOrLost} given up, ${outcome.reconnects} connections anew, ${noise.panics} panic bytes made by noise, each an ordered off`,
      limit: "told, not limited",
      holds: true,
    });
  }
}

interface Table {
  readonly emulated: EmulatedBench;
  readonly fixture: ReturnType<typeof createScriptedFixture>;
  readonly noise: Noise;
  readonly say: (text: string) => void;
}

async function exchanged(
  rate: number,
  { count, say }: { readonly count: number; readonly say: (text: string) => void },
): Promise<{ outcome: Outcome; noise: Noise }> {
  const fixture = createScriptedFixture();
  for (const [at] of CHANNELS.entries()) fixture.codes.set(at + 1, codeOf(at + 1));
  const emulated = openEmulatedBench({ fixture, hexText: firmwareText() });
  const noise: Noise = {
    rate: 0,
    chance: seededChance(`noise ${rate}`),
    suffered: 0,
    panics: 0,
    panicMs: Number.NEGATIVE_INFINITY,
    nowMs: () => emulated.clock.nowMs(),
  };
  const outcome: Outcome = {
    exchanges: 0,
    wrongValues: 0,
    wrongSwitches: 0,
    refusedOrLost: 0,
    reconnects: 0,
    emulatedMs: 0,
  };
  const table = { emulated, fixture, noise, say };
  let bench = await connected(table, noisyPort(emulated.port, noise));
  try {
    for (; outcome.exchanges < count; outcome.exchanges += 1) {
      noise.rate = rate;
      const fromMs = emulated.clock.nowMs();
      try {
        await exchange(bench, table, outcome);
      } catch (error) {
        if (!isBenchError(error)) throw error;
        outcome.refusedOrLost += 1;
        if (error.code === "link-lost" || error.code === "controller-restarted") {
          noise.rate = 0;
          await bench.close();
          outcome.reconnects += 1;
          bench = await connected(table, noisyPort(emulated.open(), noise));
        }
      }
      outcome.emulatedMs += emulated.clock.nowMs() - fromMs;
    }
  } finally {
    noise.rate = 0;
    await bench.close();
    emulated.dispose();
  }
  return { outcome, noise };
}

function connected(
  { emulated: { clock } }: Table,
  port: Parameters<typeof noisyPort>[0],
): Promise<ControllerBench> {
  return connectController({ port, clock, wiring });
}

async function exchange(bench: ControllerBench, table: Table, outcome: Outcome): Promise<void> {
  const { chance } = table.noise;
  const below = (limit: number) => Math.floor(limit * chance());
  const kind = below(10);
  if (kind < 4) {
    const names = Array.from({ length: 1 + below(8) }, () => CHANNELS[below(22)] ?? "");
    checkCodes(kind < 2 ? await bench.readOnce(names) : await bench.read(names, 2), outcome);
  } else if (kind < 6) {
    const { codes } = await bench.scanRails();
    for (const [name, code] of Object.entries(codes)) {
      if (code !== codeOf(Number(name.slice(8)))) outcome.wrongValues += 1;
    }
  } else {
    await moved(bench, table, outcome);
  }
}

function checkCodes(
  readings: readonly { channel: string; sum: number; count: number; min: number; max: number }[],
  outcome: Outcome,
): void {
  for (const { channel, sum, count, min, max } of readings) {
    const code = codeOf(Number(channel.slice(8)));
    if (sum !== count * code || min !== code || max !== code) outcome.wrongValues += 1;
  }
}

/** Lines are where they were, or where they were told to; nothing in between and nothing else. */
async function moved(bench: ControllerBench, table: Table, outcome: Outcome): Promise<void> {
  const { fixture, noise } = table;
  const levels: Record<string, DrivenLevel> = {};
  for (const line of LINES) {
    if (noise.chance() < 0.4) levels[line] = noise.chance() < 0.5 ? "high" : "low";
  }
  const before = fixture.mask();
  let wanted = before;
  for (const [line, level] of Object.entries(levels)) {
    const bit = 1 << (3 + LINES.indexOf(line as (typeof LINES)[number]));
    wanted = level === "high" ? wanted | bit : wanted & ~bit;
  }
  const begunMs = noise.nowMs();
  let done = false;
  try {
    await bench.setLines(levels);
    done = true;
  } finally {
    const after = fixture.mask();
    // Also one sent by a question in the background, just before.
    const offByPanic =
      noise.panicMs > begunMs - PANIC_ARRIVES_MS && (after & ~before & ~wanted) === 0;
    const right = done ? after === wanted : after === wanted || after === before;
    if (!right && !offByPanic) {
      outcome.wrongSwitches += 1;
      table.say(
        `outputs ${after}, expected ${wanted} or ${before}; ${JSON.stringify(levels)} ${done ? "done" : "given up"}`,
      );
    }
  }
}
