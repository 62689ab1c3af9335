/** The simulated boards against ngspice, net by net at every settled state of their sequences. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { loadCircuit } from "../../../src/formats/circuit.schema.ts";
import { documentOf } from "../../../src/formats/load-document.ts";
import { loadRig, type Rig } from "../../../src/formats/rig.schema.ts";
import {
  createFixture,
  type FixtureOptions,
} from "../../../src/simulate/fixture/create-fixture.ts";
import type { Fixture } from "../../../src/simulate/fixture.ts";
import { type Levels, readShipped, SHIPPED, stopsOf } from "./stops.ts";

export interface SpiceComparison {
  readonly board: string;
  readonly step: string;
  readonly net: string;
  readonly oursV: number;
  readonly spiceV: number;
  /** |oursV - spiceV| over the larger of 0.2 V and 2 % of spiceV; at most 1 agrees. */
  readonly ofTolerance: number;
}

const TOLERANCE_V = 0.2;
const TOLERANCE_FRACTION = 0.02;
/** Cathodes are hot after three minutes. */
const HOT_MS = 180_000;
const SETTLE_MS = 200;

/**
 * All comparisons, every shipped board. Parts as marked: no spread, no noise.
 *
 * @param build what answers for the board
 */
export function compareWithSpice(
  build: (options: FixtureOptions) => Fixture = createFixture,
): SpiceComparison[] {
  return SHIPPED.flatMap((board) => compareBoard(board, build));
}

function compareBoard(
  board: string,
  build: (options: FixtureOptions) => Fixture,
): SpiceComparison[] {
  const circuit = documentOf(loadCircuit(readShipped(board, "circuit.yaml"), "circuit.yaml")).value;
  const rig = documentOf(loadRig(readShipped(board, "rig.yaml"), "rig.yaml")).value;
  const kept = JSON.parse(readFileSync(join(import.meta.dirname, `${board}.json`), "utf8")) as {
    stops: { step: string; volts: Record<string, number> }[];
  };
  const spread = { partsFraction: 0, tubesFraction: 0 };
  const fixture = build({ circuit, rig, seed: 0, spread });
  let mask = maskFor(rig, 0, {}) | 0b111;
  let nowMs = 0;
  fixture.setOutputs(mask, nowMs);
  nowMs += HOT_MS;
  return stopsOf(board).flatMap((stop, index) => {
    for (const move of stop.moves) {
      mask = maskFor(rig, mask, move);
      fixture.setOutputs(mask, nowMs);
      nowMs += SETTLE_MS;
    }
    const ours = fixture.nodeVolts(nowMs);
    return Object.entries(kept.stops[index]?.volts ?? {}).map(([net, spiceV]) => {
      const oursV = ours[net] ?? Number.NaN;
      const allowedV = Math.max(TOLERANCE_V, TOLERANCE_FRACTION * Math.abs(spiceV));
      const ofTolerance = Math.abs(oursV - spiceV) / allowedV;
      return { board, step: stop.step, net, oursV, spiceV, ofTolerance };
    });
  });
}

function maskFor(rig: Rig, before: number, move: Levels): number {
  let mask = before;
  for (const output of rig.outputs) {
    if (output.drive === "relay" || output.drive === "trigger") continue;
    const level = move[output.line];
    if (level === undefined) continue;
    const on = level === (output.drive === "load" ? "high" : output.operated.level);
    const bit = 1 << (output.output - 1);
    mask = on ? mask | bit : mask & ~bit;
  }
  return mask;
}
