/**
 * How true the controller's own clock is at its pins: pulses, staggers, what moves "at once", and samples
 * of timed trains, each by the emulated chip's cycle count, with lines, scans and ticks beneath.
 */
import { CYCLES_PER_MS } from "../../src/simulate/avr/chip.ts";
import { EmulatedWire } from "./emulated-wire.ts";
import type { FigureContext } from "./figure.ts";
import { seededChance } from "./seeded-chance.ts";

const CYCLES_PER_US = CYCLES_PER_MS / 1000;
const PULSES = 120;
const PULSES_FULL = 2000;
const SHORTEST_US = 10;
const LONGEST_US = 100_000;
/** A change of port D and the one of port B after it. */
const BOTH_PORTS = { mask: 192, states: 192 };
const ERROR_US_MAX = 1;
/** Channels and interval of a train, microseconds. */
const TRAINS = [
  [1, 640],
  [1, 860],
  [1, 1000],
  [1, 3333],
  [2, 1500],
  [3, 5000],
  [8, 8000],
  [1, 40_001],
] as const;
const TRAIN_SETS = 40;
/** PROTOCOL.md, section 8: channels of a set follow 360 us apart. */
const SLOT_US = 360;
/** Sent while edges are on their way: what a host does beside them. */
const TRAFFIC = ["MEAS:RAIL?", "SYST:ERR?", "MEAS:CODE? 4,(@9,10)", "MEAS:RAIL:TRA? 3"] as const;

interface Errors {
  readonly worstUs: number;
  readonly meanUs: number;
  readonly count: number;
}

export async function figure({ full, report }: FigureContext): Promise<void> {
  const count = full ? PULSES_FULL : PULSES;
  const found = [
    ["pulse width", edgesApart("ROUT:PULS", count)],
    ["stagger", edgesApart("ROUT:STAG", count)],
    ["outputs of both ports in one command", apartInOneCommand()],
    ["sample of a timed train", samplesOfTrains()],
  ] as const;
  for (const [what, errors] of found) {
    for (const [kind, us] of [
      ["worst", errors.worstUs],
      ["mean", errors.meanUs],
    ] as const) {
      report({
        name: `device-timing ${what}, ${kind} error`,
        value: Math.round(1000 * us) / 1000,
        unit: `us at the pin, ${errors.count} cases, crystal apart`,
        limit: `<= ${ERROR_US_MAX}`,
        holds: us <= ERROR_US_MAX,
      });
    }
  }
}

function errorsOf(offUs: readonly number[]): Errors {
  const sizes = offUs.map(Math.abs);
  return {
    worstUs: Math.max(...sizes),
    meanUs: sizes.reduce((sum, one) => sum + one, 0) / sizes.length,
    count: sizes.length,
  };
}

/** Widths from the shortest to 100 ms, evenly by their logarithm. */
function edgesApart(command: "ROUT:PULS" | "ROUT:STAG", count: number): Errors {
  const chance = seededChance(command.length);
  const off: number[] = [];
  const wire = new EmulatedWire(7);
  for (let at = 0; at < count; at += 1) {
    const us = Math.round(SHORTEST_US * (LONGEST_US / SHORTEST_US) ** chance());
    wire.run(chance());
    wire.forget();
    wire.order(command === "ROUT:PULS" ? `${command} ${us},8,8` : `${command} ${us},24,24,8`);
    const endMs = wire.controller.nowMs() + us / 1000;
    for (let line = at; wire.controller.nowMs() < endMs; line += 1) {
      wire.ask(TRAFFIC[line % TRAFFIC.length] ?? "");
    }
    wire.run(1);
    const [first, second] = wire.edges;
    if (first === undefined || second === undefined) throw new Error(`no two edges: ${us} us`);
    off.push((second.cycles - first.cycles) / CYCLES_PER_US - us);
    wire.order("ROUT:SET 24,0");
  }
  return errorsOf(off);
}

function apartInOneCommand(): Errors {
  const off: number[] = [];
  const wire = new EmulatedWire(8);
  for (let at = 0; at < 40; at += 1) {
    wire.forget();
    const states = at % 2 === 0 ? BOTH_PORTS.states | 32 : 0;
    wire.order(`ROUT:SET ${BOTH_PORTS.mask | 32},${states}`);
    const [first] = wire.edges;
    const last = wire.edges.at(-1);
    if (first === undefined || last === undefined) throw new Error("nothing moved");
    off.push((last.cycles - first.cycles) / CYCLES_PER_US);
  }
  return errorsOf(off);
}

/** Every sample against its place after the first: n intervals, and the slots of its set. */
function samplesOfTrains(): Errors {
  const off: number[] = [];
  for (const [channels, intervalUs] of TRAINS) {
    const wire = new EmulatedWire(9);
    wire.forget();
    wire.order(`MEAS:TRA ${TRAIN_SETS},${intervalUs},(@7:${6 + channels})`);
    const endMs = wire.controller.nowMs() + (TRAIN_SETS * intervalUs) / 1000 + 5;
    for (let line = 0; wire.controller.nowMs() < endMs; line += 1) {
      wire.ask(line % 2 === 0 ? "MEAS:RAIL?" : "SYST:ERR?");
    }
    const end = wire.pushes.at(-1);
    if (end !== `TRAIN END,${TRAIN_SETS},DONE,0`) throw new Error(`the train ended as ${end}`);
    // Of each two conversions of a channel the first is discarded.
    const kept = wire.samples.filter(({ channel }) => channel > 6).filter((_, at) => at % 2 === 1);
    const fromCycles = kept[0]?.cycles ?? 0;
    for (const [at, { cycles }] of kept.entries()) {
      const placeUs = Math.floor(at / channels) * intervalUs + (at % channels) * SLOT_US;
      off.push((cycles - fromCycles) / CYCLES_PER_US - placeUs);
    }
  }
  return errorsOf(off);
}
