/**
 * What is left after a two-point calibration: rigs with 5 % dividers and a reference 9 % high, calibrated
 * by a meter that is off itself, then read at volts that only the simulation knows.
 */
import type { ChannelCalibration } from "../../src/events/plan.ts";
import {
  type CalibrationPoint,
  calibrationPoint,
  referenceAtPoint,
} from "../../src/measure/calibration-point.ts";
import { fitCalibration, partLimits } from "../../src/measure/fit-calibration.ts";
import type { FigureContext } from "./figure.ts";
import { type Chance, quickChance } from "./uncertainty/quick-chance.ts";
import { type ErrorSizes, NO_ERRORS, type RandomRig, randomRig } from "./uncertainty/random-rig.ts";
import { readWith, watchOf } from "./uncertainty/read-with.ts";

const RIGS = 2000;
const RIGS_FULL = 20_000;
const READINGS_A_RIG = 20;
/** A hand-held meter of 4 1/2 digits on its 60 V range, common practice: 0.05 % and 3 digits. */
const METER = { part: 0.0005, volts: 0.003, digitV: 0.001 };

const POOR_PARTS: ErrorSizes = {
  ...NO_ERRORS,
  resistorPart: 0.05,
  referenceHighPart: 0.09,
  linearitySteps: 2,
  noiseSteps: 1.5,
};

const KINDS: Readonly<Record<string, ErrorSizes>> = {
  "reference measured": { ...POOR_PARTS, sourcePart: 0.004 },
  "reference steady since, not measured": POOR_PARTS,
};

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const rigs = full ? RIGS_FULL : RIGS;
  for (const [name, sizes] of Object.entries(KINDS)) {
    const { inside, count, before, left, refused } = campaign(name, sizes, rigs);
    say(
      `${name}: off by ${(1000 * before).toFixed(0)} mV before (median), ${(1000 * left).toFixed(0)} mV after`,
    );
    report({
      name: `calibration by two points, ${name}: residual error within U`,
      value: Number(((100 * inside) / count).toFixed(2)),
      unit: `% of ${count} readings of ${rigs} rigs with 5 % dividers and a reference 9 % high`,
      limit: ">= 95",
      holds: inside / count >= 0.95,
    });
    report({
      name: `calibration by two points, ${name}: good rigs that were refused`,
      value: refused,
      unit: `of ${rigs}`,
      limit: "0",
      holds: refused === 0,
    });
  }
}

function campaign(name: string, sizes: ErrorSizes, rigs: number) {
  const befores: number[] = [];
  const lefts: number[] = [];
  let inside = 0;
  let refused = 0;
  for (let seed = 1; seed <= rigs; seed += 1) {
    const chance = quickChance(`calibration ${name} ${seed}`);
    const rig = randomRig(sizes, chance);
    const calibration = calibrated(rig, chance);
    if (calibration === null) {
      refused += 1;
      continue;
    }
    const [bare, watch] = [watchOf(rig), watchOf(rig, calibration)];
    for (let turn = 0; turn < READINGS_A_RIG; turn += 1) {
      const simulated = rig.read();
      const { volts, expandedV } = readWith(watch, simulated);
      if (volts === null) continue;
      const off = Math.abs(volts - simulated.trueV);
      lefts.push(off);
      if (off <= (expandedV ?? 0)) inside += 1;
      const without = readWith(bare, { ...simulated, reference: null }).volts;
      if (without !== null) befores.push(Math.abs(without - simulated.trueV));
    }
  }
  return { inside, count: lefts.length, before: median(befores), left: median(lefts), refused };
}

/** As a person does it: a low and a high setting of a supply, the meter beside the leads. */
function calibrated(rig: RandomRig, chance: Chance): ChannelCalibration | null {
  const { lowV, highV } = rig.range;
  const [scale, shift] = [1 + METER.part * chance.either(), METER.volts * chance.either()];
  const points = [0.05 + 0.15 * chance.unit(), 0.8 + 0.15 * chance.unit()].map((share) =>
    pointAt(rig, lowV + share * (highV - lowV), { scale, shift }),
  );
  const limits = partLimits(rig.accuracy, points[0]?.referenceV !== undefined);
  const result = fitCalibration(points, rig.channel, limits);
  return result.ok ? { ...result.line, meter: METER } : null;
}

function pointAt(
  rig: RandomRig,
  trueV: number,
  meter: { readonly scale: number; readonly shift: number },
): CalibrationPoint {
  const shown = Math.round((trueV * meter.scale + meter.shift) / METER.digitV) * METER.digitV;
  const { reference } = rig.read();
  return calibrationPoint(
    { meterV: shown, digitV: METER.digitV },
    rig.codesOf(trueV),
    reference === null
      ? null
      : referenceAtPoint(reference, rig.referenceChannel, rig.accuracy.linearitySteps),
  );
}

function median(values: number[]): number {
  values.sort((one, other) => one - other);
  return values[Math.floor(values.length / 2)] ?? Number.NaN;
}
