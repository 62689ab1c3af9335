/**
 * From a rail that leaves its limit at the pin to the plate output off, by the emulated chip's cycle count,
 * with every trip armed and the controller at whatever keeps it busiest.
 */
import { CYCLES_PER_MS } from "../../src/simulate/avr/chip.ts";
import { EmulatedWire } from "./emulated-wire.ts";
import type { FigureContext } from "./figure.ts";
import { seededChance } from "./seeded-chance.ts";

const LATENCY_MS_MAX = 10;
const MOMENTS = 25;
const MOMENTS_FULL = 500;
/** What each rail channel reads while all is well, and the limits around it. */
const GOOD = [500, 500, 400, 400, 600, 600] as const;
const LIMIT = 50;
const PLATE = 0b100;
const FEED_EVERY_MS = 100;

/** What the controller is busy with, begun afresh when it has ended. */
const BUSY: Readonly<Record<string, readonly string[]>> = {
  nothing: [],
  averages: ["MEAS:CODE? 64,(@9,10,11,12,13)"],
  "averages over the mains": ["MEAS:SPRE? 20,(@9,10,11)"],
  bursts: ["MEAS:BURS 9,8,8,0", "MEAS:BURS 9,8,0,150"],
  "a timed train": ["MEAS:TRA 20,1000,(@9)"],
  "a train of eight": ["MEAS:TRA 5,8000,(@7:14)"],
  "a train at once": ["MEAS:TRA 100,0,(@9)"],
  pulses: ["ROUT:PULS 12345,8,8", "ROUT:PULS 90,8,8"],
  "a block": ["BLOC:RUN 10"],
};

/** A small relay's release, at most (common practice); the simulated ones keep to it. */
const RELEASE_MS = 5;

export async function figure({ full, report }: FigureContext): Promise<void> {
  let worstMs = 0;
  for (const [busy, commands] of Object.entries(BUSY)) {
    const latencies = latenciesOf(busy, commands, full ? MOMENTS_FULL : MOMENTS);
    const worst = Math.max(...latencies);
    worstMs = Math.max(worstMs, worst);
    report({
      name: `trip-latency during ${busy}, worst`,
      value: round(worst),
      unit: `ms from crossing at the pin to plate output off, ${latencies.length} moments, mean ${round(mean(latencies))} ms, six rail channels armed`,
      limit: `<= ${LATENCY_MS_MAX}`,
      holds: worst <= LATENCY_MS_MAX,
    });
  }
  const filterMs = (22_000 * 10_000 * 10) / 32_000 / 1e6;
  report({
    name: "trip-latency beside the controller: pin filter of a heater divider, 22 k and 10 k with 10 nF",
    value: round(filterMs),
    unit: "ms, time constant; a plate divider's 100 k and 8.2 k less",
    limit: "told, not limited",
    holds: true,
  });
  report({
    name: "trip-latency beside the controller: release of a relay",
    value: RELEASE_MS,
    unit: "ms at most, common practice; not measured here",
    limit: "told, not limited",
    holds: true,
  });
}

function latenciesOf(busy: string, commands: readonly string[], moments: number): number[] {
  const chance = seededChance(busy);
  return Array.from({ length: moments }, (_, at) => {
    const wire = energised(at);
    keepBusy(wire, commands, 30 + 60 * chance());
    const channel = 1 + Math.floor(6 * chance());
    const code = GOOD[channel - 1] ?? 0;
    const fromCycles = wire.cycles;
    wire.codes.set(channel, chance() < 0.5 ? code + LIMIT + 1 : code - LIMIT - 1);
    wire.forget();
    wire.run(30);
    const off = wire.edges.find(({ mask }) => (mask & PLATE) === 0);
    if (off === undefined) throw new Error(`plate stays on during ${busy}`);
    return (off.cycles - fromCycles) / CYCLES_PER_MS;
  });
}

function energised(seed: number): EmulatedWire {
  const wire = new EmulatedWire(seed);
  for (const [at, code] of GOOD.entries()) {
    wire.codes.set(at + 1, code);
    wire.order(`TRIP:LIM ${at + 1},${code - LIMIT},${code + LIMIT}`);
  }
  wire.order("BLOC:STEP 8,8,2000");
  wire.order("BLOC:STEP 8,0,2000");
  wire.order("BLOC:CHAN (@7:14)");
  wire.order("ROUT:CLOS (@1)");
  wire.order("ROUT:CLOS (@2)");
  wire.order("TRIP:ARM ON");
  wire.run(10);
  wire.order("ROUT:CLOS (@3)");
  feed(wire);
  return wire;
}

function feed(wire: EmulatedWire): void {
  const [scan] = wire.ask("MEAS:RAIL?").split(",");
  wire.order(`SYST:FEED ${scan}`);
}

/** Until that time has passed: with the work under way, not between two of them. */
function keepBusy(wire: EmulatedWire, commands: readonly string[], ms: number): void {
  const untilMs = wire.controller.nowMs() + ms;
  let fedMs = wire.controller.nowMs();
  for (let next = 0; wire.controller.nowMs() < untilMs; next += 1) {
    if (wire.controller.nowMs() - fedMs > FEED_EVERY_MS) {
      feed(wire);
      fedMs = wire.controller.nowMs();
    }
    const command = commands[next % commands.length];
    if (command === undefined) {
      wire.run(untilMs - wire.controller.nowMs());
      return;
    }
    const leftMs = untilMs - wire.controller.nowMs();
    wire.send(command);
    // The last one is still at work when the moment comes; refusals while another runs are no matter.
    wire.run(Math.min(leftMs, 8 + 20 * (leftMs % 1)));
  }
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, one) => sum + one, 0) / values.length;
}

function round(ms: number): number {
  return Math.round(1000 * ms) / 1000;
}
