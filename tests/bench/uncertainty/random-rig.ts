/**
 * A rig and what it would read, by Kirchhoff's laws and a truncating converter, with every part off by as
 * much as its file allows. It shares no code with the program's own way from codes to volts: what the
 * program is told is the marked values, what is true stays here.
 */
import type { PlannedAccuracy, PlannedChannel } from "../../../src/events/plan.ts";
import type { RawSums } from "../../../src/measure/reading.ts";
import type { Chance } from "./quick-chance.ts";

/** What may be off in a rig; everything else is as marked. */
export interface ErrorSizes {
  readonly resistorPart: number;
  readonly referencePart: number;
  /** By how much it is higher besides, in every rig; a calibration has seen that. */
  readonly referenceHighPart?: number;
  /** Measured by a known source on a channel of its own, off by this part at most; null without one. */
  readonly sourcePart: number | null;
  readonly linearitySteps: number;
  readonly perK: number;
  readonly spanK: number;
  /** Converter steps, rms, most. */
  readonly noiseSteps: number;
  /** Volts at the node, amplitude, most. */
  readonly humV: number;
  /** How well the net's resistance is known; null: it has none. */
  readonly loadPart: number | null;
  /** Ohms of the board's lead to common times what flows there, volts, most; 0: no ground channel. */
  readonly groundV: number;
}

export const NO_ERRORS: ErrorSizes = {
  resistorPart: 0,
  referencePart: 0,
  sourcePart: null,
  linearitySteps: 0,
  perK: 0,
  spanK: 10,
  noiseSteps: 0,
  humV: 0,
  loadPart: null,
  groundV: 0,
};

/** A rig as a careful builder has it: 1 % parts, a shunt reference, a lead on the board's common. */
export const ALL_ERRORS: ErrorSizes = {
  resistorPart: 0.01,
  referencePart: 0.05,
  sourcePart: 0.004,
  linearitySteps: 2,
  perK: 100e-6,
  spanK: 10,
  noiseSteps: 1.5,
  humV: 0.1,
  loadPart: 0.15,
  groundV: 0.1,
};

const SAMPLES = 16;
/** A conversion of this controller, seconds; the mains it falls into. */
const SAMPLE_S = 208e-6;
const MAINS_HZ = 50;
const REFERENCE_V = 5;
const KNOWN_SOURCE_V = 2.5;
const DIVIDERS = [
  { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null, from: 3, to: 50 },
  { topOhm: 470_000, bottomOhm: 22_000, pullUpOhm: null, from: 5, to: 100 },
  { topOhm: 220_000, bottomOhm: 22_000, pullUpOhm: 22_000, from: -40, to: 45 },
] as const;
/** Of the ground channel: some 10 k with a pull-up, half a volt either way. */
const GROUND = { topOhm: 10_000, bottomOhm: 100_000, pullUpOhm: 100_000 } as const;

export interface SimulatedReading {
  readonly trueV: number;
  readonly raw: RawSums;
  /** Codes of the known source, and of the board's common, taken with it. */
  readonly reference: RawSums | null;
  readonly ground: RawSums | null;
}

export interface RandomRig {
  /** What the files say. */
  readonly channel: PlannedChannel;
  readonly groundChannel: PlannedChannel;
  readonly referenceChannel: PlannedChannel;
  readonly accuracy: PlannedAccuracy;
  /** @param at true volts of the net; anywhere in its range when not given */
  read(at?: number): SimulatedReading;
  /** The codes of a given true volts, for a calibration; a stiff source, nothing in the way. */
  codesOf(trueV: number): RawSums;
  readonly range: { readonly lowV: number; readonly highV: number };
}

interface Ohms {
  readonly topOhm: number;
  readonly bottomOhm: number;
  readonly pullUpOhm: number | null;
}

export function randomRig(sizes: ErrorSizes, chance: Chance): RandomRig {
  const marked = DIVIDERS[Math.floor(chance.unit() * DIVIDERS.length)] ?? DIVIDERS[0];
  const made = offOhms(marked, sizes.resistorPart, chance);
  const groundMade = offOhms(GROUND, sizes.resistorPart, chance);
  const referenceV =
    REFERENCE_V *
    (1 + (sizes.referenceHighPart ?? 0)) *
    (1 + sizes.referencePart * chance.either());
  const knownV = KNOWN_SOURCE_V * (1 + (sizes.sourcePart ?? 0) * chance.either());
  const noiseSteps = sizes.noiseSteps * chance.unit();
  const humV = sizes.humV * chance.unit();
  const warmPart = sizes.perK * sizes.spanK * chance.either();
  const bowSteps = sizes.linearitySteps;
  const lowOhm = 5000 + 10_000 * chance.unit();
  const highOhm = 20_000 + 30_000 * chance.unit();
  const groundV = sizes.groundV * chance.either();
  const { from, to, ...divider } = marked;

  const codes = (name: string, pinV: number, pinHumV: number): RawSums => {
    // One bow, one phase a reading: both stand still while its samples are taken.
    const bow = bowSteps * chance.either();
    const phase = 2 * Math.PI * chance.unit();
    let [sum, min, max] = [0, 1023, 0];
    for (let at = 0; at < SAMPLES; at += 1) {
      const hum = pinHumV * Math.sin(phase + 2 * Math.PI * MAINS_HZ * SAMPLE_S * at);
      const steps = (1024 * (pinV + hum)) / referenceV + noiseSteps * chance.normal() + bow;
      const code = Math.min(1023, Math.max(0, Math.floor(steps)));
      sum += code;
      min = Math.min(min, code);
      max = Math.max(max, code);
    }
    return { channel: name, sum, count: SAMPLES, min, max };
  };
  const pinOf = (nodeV: number, sourceOhm: number, ohms: Ohms) => {
    const top = 1 / (ohms.topOhm * (1 + warmPart) + sourceOhm);
    const pullUp = ohms.pullUpOhm === null ? 0 : 1 / ohms.pullUpOhm;
    return (nodeV * top + referenceV * pullUp) / (top + 1 / ohms.bottomOhm + pullUp);
  };
  const slope = pinOf(1, 0, made) - pinOf(0, 0, made);
  return {
    range: { lowV: from, highV: to },
    channel: {
      name: "Q",
      number: 7,
      reads: { kind: "net", net: "Q" },
      divider,
      referenceV: REFERENCE_V,
      source:
        sizes.loadPart === null
          ? { lowOhm: 0, highOhm: 0, part: 0 }
          : { lowOhm, highOhm, part: sizes.loadPart },
      ...(humV > 0 ? { humV } : {}),
    },
    referenceChannel: straight("reference", {
      kind: "reference",
      volts: KNOWN_SOURCE_V,
      part: sizes.sourcePart ?? 0,
    }),
    groundChannel: {
      name: "ground",
      number: 16,
      reads: { kind: "ground" },
      divider: GROUND,
      referenceV: REFERENCE_V,
    },
    accuracy: {
      resistorPart: sizes.resistorPart,
      referencePart: sizes.referencePart,
      linearitySteps: sizes.linearitySteps,
      perK: sizes.perK,
      spanK: sizes.spanK,
    },
    codesOf: (trueV) => codes("Q", pinOf(trueV, 0, made), 0),
    read(at) {
      const trueV = at ?? from + (to - from) * chance.unit();
      const isLow = trueV < (from + to) / 2;
      const markedOhm = sizes.loadPart === null ? 0 : isLow ? lowOhm : highOhm;
      const sourceOhm = markedOhm * (1 + (sizes.loadPart ?? 0) * chance.either());
      return {
        trueV,
        raw: codes("Q", pinOf(trueV + groundV, sourceOhm, made), humV * slope),
        reference: sizes.sourcePart === null ? null : codes("reference", knownV, 0),
        ground: sizes.groundV === 0 ? null : codes("ground", pinOf(groundV, 0, groundMade), 0),
      };
    },
  };
}

function offOhms(marked: Ohms, part: number, chance: Chance): Ohms {
  const off = (ohm: number) => ohm * (1 + part * chance.either());
  return {
    topOhm: off(marked.topOhm),
    bottomOhm: off(marked.bottomOhm),
    pullUpOhm: marked.pullUpOhm === null ? null : off(marked.pullUpOhm),
  };
}

function straight(name: string, reads: PlannedChannel["reads"]): PlannedChannel {
  const divider = { topOhm: 1, bottomOhm: 1e9, pullUpOhm: null };
  return { name, number: 15, reads, divider, referenceV: REFERENCE_V };
}
