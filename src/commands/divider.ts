/** `holdfast divider`: resistors for a channel, with what they cost, or why there are none. */
import {
  type DesignChoices,
  type DividerDesign,
  designDivider,
} from "../measure/divider-design.ts";
import { SERIES_NAMES, type SeriesName } from "../measure/preferred-values.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { UsageError } from "./usage-error.ts";

export interface AskedDivider {
  readonly low: string;
  readonly high: string;
  readonly lowOhm: string;
  readonly highOhm: string;
  readonly loading: string;
  readonly fault?: string;
  readonly reference: string;
  readonly series: string;
  readonly capacitor: string;
  readonly json?: boolean;
}

/** Of what a fault may put on a node when nobody says: above the highest level by this. */
const FAULT_FACTOR = 1.5;

/** @throws UsageError */
export function dividerCommand(asked: AskedDivider, io: CheckIo): ExitStatus {
  const choices = readChoices(asked);
  const result = designDivider(choices);
  if (!result.ok) {
    io.error(result.reason);
    io.error(`Next: ${result.next}`);
    return EXIT.notPass;
  }
  if (asked.json === true) io.out(JSON.stringify(result.design));
  else for (const line of sentences(result.design, choices)) io.out(line);
  return EXIT.pass;
}

function readChoices(asked: AskedDivider): DesignChoices {
  const low = { volts: number("--low", asked.low), ohm: positive("--low-ohm", asked.lowOhm) };
  const high = { volts: number("--high", asked.high), ohm: positive("--high-ohm", asked.highOhm) };
  const farthestV = Math.max(Math.abs(low.volts), Math.abs(high.volts));
  const series = SERIES_NAMES.find((name) => name === asked.series.toUpperCase());
  if (series === undefined) {
    throw new UsageError(`Expected --series as ${SERIES_NAMES.join(", ")}, got "${asked.series}".`);
  }
  return {
    node: {
      low,
      high,
      faultV:
        asked.fault === undefined ? FAULT_FACTOR * farthestV : positive("--fault", asked.fault),
    },
    loadingPercent: positive("--loading", asked.loading),
    referenceV: positive("--reference", asked.reference),
    series: series satisfies SeriesName,
    capacitorNf: positive("--capacitor", asked.capacitor),
  };
}

function number(option: string, text: string): number {
  const value = Number(text);
  if (text.trim() === "" || !Number.isFinite(value)) {
    throw new UsageError(`Expected ${option} as a number, got "${text}".`);
  }
  return value;
}

function positive(option: string, text: string): number {
  const value = number(option, text);
  if (value <= 0) throw new UsageError(`Expected ${option} above 0, got "${text}".`);
  return value;
}

function sentences(design: DividerDesign, { node, capacitorNf }: DesignChoices): string[] {
  const { topOhm, bottomOhm, pullUpOhm } = design.divider;
  const pullUp = pullUpOhm === null ? "" : `, pullUpOhm: ${pullUpOhm}`;
  const volts = (value: number) => `${value.toFixed(2)} V`;
  return [
    `topOhm: ${topOhm}, bottomOhm: ${bottomOhm}${pullUp}, capacitorNf: ${capacitorNf}`,
    `Reads ${volts(design.range.lowV)} to ${volts(design.range.highV)} in steps of ${design.stepMv.toFixed(1)} mV.`,
    `Moves the low by ${volts(design.loadingLowV)} and the high by ${volts(design.loadingHighV)}, at most ${design.loadingPercent.toFixed(2)} % of the swing.`,
    `The pin sees ${(design.pinSourceOhm / 1000).toFixed(1)} kOhm at most and is within half a step after ${design.settlingMs.toFixed(1)} ms; add relay and bounce.`,
    `At ${node.faultV} V of either sign, powered or not, its clamp takes ${design.clampMa.toFixed(2)} mA at most; 1 mA is the guide.`,
    ...design.remarks,
    "Values are nominal: a part at its tolerance moves the reading, and calibration takes it out.",
  ];
}
