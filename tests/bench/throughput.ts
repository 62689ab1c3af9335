/**
 * How near the controller comes to what its converter and its wire allow: samples streamed, by the emulated
 * chip's own time, and the job of the figure `stepping` over a pseudo-terminal beside a naive loop.
 */
import { CYCLES_PER_MS } from "../../src/simulate/avr/chip.ts";
import { EmulatedWire } from "./emulated-wire.ts";
import type { FigureContext } from "./figure.ts";
import { figure as stepping } from "./stepping.ts";

/** 13 clocks of 125 kHz (DS40001984A, 28.4): discarded conversions and those of the scan count too. */
const CONVERSION_MS = 0.104;
/** Ten bits a byte at 500000 baud. */
const BYTE_MS = 0.02;
const EFFICIENCY_MIN = 0.9;
const SAMPLES = 4000;
/** From ` !NN|` to LF around the body of a pushed line. */
const FRAME_BYTES = 10;

export async function figure(context: FigureContext): Promise<void> {
  for (const channels of [1, 2, 8]) {
    const { conversions, bytes, wallMs } = streamed(channels);
    const floorMs = Math.max(conversions * CONVERSION_MS, bytes * BYTE_MS);
    const efficiency = Math.round((1000 * floorMs) / wallMs) / 1000;
    context.report({
      name: `throughput streaming ${channels} channel${channels === 1 ? "" : "s"}, efficiency`,
      value: efficiency,
      unit: `floor over wall: ${Math.round((1000 * SAMPLES) / wallMs)} samples/s; ${conversions} conversions, scans and discarded ones included, and ${bytes} bytes in ${Math.round(wallMs)} ms`,
      limit: `>= ${EFFICIENCY_MIN}`,
      holds: efficiency >= EFFICIENCY_MIN,
    });
  }
  await stepping(context);
}

function streamed(channels: number): { conversions: number; bytes: number; wallMs: number } {
  const wire = new EmulatedWire(11);
  wire.order(`MEAS:TRA ${SAMPLES / channels},0,(@7:${6 + channels})`);
  wire.forget();
  const fromCycles = wire.cycles;
  while (!(wire.pushes.at(-1) ?? "").startsWith("TRAIN END")) wire.run(1);
  const end = wire.pushes.at(-1);
  if (end !== `TRAIN END,${SAMPLES / channels},DONE,0`) throw new Error(`ended as ${end}`);
  const bytes = wire.pushes.reduce((sum, body) => sum + body.length + FRAME_BYTES, 0);
  const lastCycles = wire.samples.filter(({ channel }) => channel > 6).at(-1)?.cycles ?? 0;
  const wallMs = (lastCycles - fromCycles) / CYCLES_PER_MS;
  const conversions = wire.samples.filter(({ cycles }) => cycles <= lastCycles).length;
  return { conversions, bytes, wallMs };
}
