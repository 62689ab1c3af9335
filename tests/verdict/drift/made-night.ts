/**
 * Nights made of numbers: sets of readings as a soak takes them, from a unit whose levels follow its
 * rails, temperature and wear by figures of the circuit solver for an ECC82 stage on 48 V and -24 V
 * (tests/verdict/drift/stage-figures.test.ts holds them to the solver), read by a ten-bit converter.
 */
import type { DriftSet } from "../../../src/verdict/drift/drift-set.ts";
import { type Chance, quickChance } from "../../bench/uncertainty/quick-chance.ts";

/** Volts of low level: a volt of plate, a volt of bias, a volt of heater; volts for the whole emission. */
export const LOW_PER = { plate: 0.127, bias: -0.085, heater: -0.0105, emission: -5.7 };
/** Volts of high level for a volt of plate. */
export const HIGH_PER_PLATE = 0.91;

export interface MadeSection {
  readonly section: string;
  readonly net: string;
}

export interface MadeNight {
  readonly seed: string;
  /** Same unit, same parts: sensitivities of its own. */
  readonly unit?: string;
  readonly sections?: readonly MadeSection[];
  readonly hours?: number;
  readonly setsPerHour?: number;
  /** By section: part of the emission lost from first to last hour, in a straight line. */
  readonly loss?: Readonly<Record<string, number>>;
  /** By section: volts its low level jumps by, and when. */
  readonly step?: { readonly section: string; readonly volts: number; readonly atHour: number };
  /** Rails stand still but for noise. */
  readonly still?: boolean;
  /** Kelvin a hour, in place of the night's own walk. */
  readonly kelvinPerHour?: number;
  /** Volts that every low level rises by over the night: nothing that is measured explains it. */
  readonly togetherV?: number;
  readonly legMinutes?: number;
  /** Volts by which a section stands higher in the first cycle after standing still. */
  readonly firstOnV?: Readonly<Record<string, number>>;
}

const LATCH: readonly MadeSection[] = [
  { section: "V1a", net: "QN" },
  { section: "V1b", net: "Q" },
];

const CODES = 1024;
/** Volts of one code at the node. */
const STEP_V = { net: 0.0537, plate: 0.0644, bias: 0.0596, heater: 0.0156 };
const SAMPLES = 16;
const STEPS_PER_SET = 2;
/** Others on the same mains, from set to set, as a part of the most that it moves. */
const MAINS_QUICK = 0.15;

export function madeNight(night: MadeNight): DriftSet[] {
  const { seed, unit = seed, sections = LATCH, hours = 12, setsPerHour = 12 } = night;
  const chance = quickChance(`night ${seed}`);
  const parts = quickChance(`unit ${unit}`);
  const count = Math.round(hours * setsPerHour);
  const rows = Array.from({ length: count }, (_, at) => (at + 0.5) / setsPerHour);
  const quiet = night.still === true ? 0 : 1;
  // All three supplies hang on one mains; each has a walk of its own beside it.
  const mains = walk(chance, rows, 1, { swing: 1, slow: 0.2, quick: MAINS_QUICK });
  const rail = (nominalV: number) => {
    const own = walk(chance, rows, 1, { swing: 0.3, slow: 0.5, quick: 0.1 });
    const both = own.map((one, at) => 0.6 * (mains[at] as number) + 0.4 * one);
    return both.map((one) => 0.02 * nominalV * quiet * one);
  };
  const [plate, bias, heater] = [rail(48), rail(24), rail(12.6)] as const;
  const warm = walk(chance, rows, 7.5 * quiet, { swing: 0.5, slow: 0.5, quick: 0.1 });
  const reference = walk(chance, rows, 0.002 * quiet, { swing: 0.5, slow: 0.5, quick: 0 });
  const stages = sections.map(({ section, net }) => ({
    section,
    net,
    low: 11.5 + parts.either(),
    plate: LOW_PER.plate * (1 + 0.1 * parts.either()),
    bias: LOW_PER.bias * (1 + 0.15 * parts.either()),
    heater: LOW_PER.heater * (1 + 0.5 * parts.either()),
    perK: 7.3e-4 * parts.either(),
    highPerK: 9e-5 * 10 * parts.either(),
  }));
  const read = (volts: number, stepV: number, at: number, n = SAMPLES) => {
    const off = 1 + (reference[at] as number);
    let sum = 0;
    for (let i = 0; i < n; i += 1) {
      const hum = 0.4 * Math.sin((2 * Math.PI * i) / 20);
      sum += Math.round(volts / off / stepV + 0.3 * chance.normal() + hum) * stepV;
    }
    return sum / n;
  };
  return rows.map((onHours, at) => {
    const kelvin =
      night.kelvinPerHour === undefined
        ? (warm[at] as number)
        : night.kelvinPerHour * (onHours - hours / 2);
    // The reference is measured anew in every step, by a source of 2.5 V.
    const measured = () => 2.5 / read(2.5, 5 / CODES, at);
    const share = onHours / hours;
    const readings = stages.flatMap((stage, which) => {
      const step = night.step?.section === stage.section ? night.step : undefined;
      const low =
        stage.low +
        stage.plate * (plate[at] as number) +
        stage.bias * (bias[at] as number) +
        stage.heater * (heater[at] as number) +
        stage.perK * kelvin -
        LOW_PER.emission * (night.loss?.[stage.section] ?? 0) * share +
        (step !== undefined && onHours >= step.atHour ? step.volts : 0) +
        (night.togetherV ?? 0) * share;
      const high = 43.7 + HIGH_PER_PLATE * (plate[at] as number) + stage.highPerK * kelvin;
      return Array.from({ length: STEPS_PER_SET }, (_, step) => {
        const gain = measured();
        return [
          {
            step: 2 * (STEPS_PER_SET * which + step),
            net: stage.net,
            class: "low" as const,
            volts: read(low + 0.02 * step, STEP_V.net, at) * gain,
          },
          {
            step: 2 * (STEPS_PER_SET * which + step) + 1,
            net: stage.net,
            class: "high" as const,
            volts: read(high, STEP_V.net, at) * gain,
          },
        ];
      }).flat();
    });
    const gain = measured();
    return {
      set: at + 1,
      leg: 1,
      onHours,
      minutesOn: 60 * onHours,
      moment: "settled" as const,
      readings,
      rails: {
        plate: read(48 + (plate[at] as number), STEP_V.plate, at) * gain,
        bias: read(-24 + (bias[at] as number), STEP_V.bias, at) * gain,
        heater: read(12.6 + (heater[at] as number), STEP_V.heater, at) * gain,
      },
      referenceV: 5 * gain,
      celsius: 22.5 + kelvin + 0.05 * chance.normal(),
    };
  });
}

/** A slow walk, a swing of a day at any phase, and what changes from set to set; within +- most. */
function walk(
  chance: Chance,
  rows: readonly number[],
  most: number,
  part: { readonly swing: number; readonly slow: number; readonly quick: number },
): number[] {
  const phase = 24 * chance.unit();
  const swing = part.swing * (0.5 + 0.5 * chance.unit());
  let slow = 0;
  const walked = rows.map((hour) => {
    slow = 0.995 * slow + 0.05 * chance.normal();
    const day = Math.sin((2 * Math.PI * (hour + phase)) / 24);
    return part.slow * slow + swing * day + part.quick * chance.normal();
  });
  const farthest = Math.max(...walked.map(Math.abs));
  return walked.map((one) => (most * one) / Math.max(1, farthest));
}
