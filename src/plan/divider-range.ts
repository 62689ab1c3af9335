/** What a divider lets the converter see, and how long its filter takes. */
import { CODE_COUNT, CODE_MAX } from "./fixed-wiring.ts";

export interface DividerParts {
  readonly topOhm: number;
  readonly bottomOhm: number;
  /** Resistor from the pin to the reference; undefined for a plain divider. */
  readonly pullUpOhm?: number | undefined;
  readonly capacitorNf: number;
}

/** Lowest and highest node volts that give a code which is neither clipped nor below zero. */
export interface ReadableRange {
  readonly lowV: number;
  readonly highV: number;
  /** Node volts of one code step. */
  readonly stepV: number;
}

/** Time constants after which a filter has settled to less than one percent. */
const SETTLED_TIME_CONSTANTS = 5;

/**
 * Node volts between the pin at 0 V and the first clipped code.
 *
 * The pin is the meeting point of three resistors: node through top, common through bottom,
 * reference through pull-up (Millman's theorem), solved here for the node.
 */
export function readableRange(parts: DividerParts, referenceV: number): ReadableRange {
  const pullUpSiemens = parts.pullUpOhm === undefined ? 0 : 1 / parts.pullUpOhm;
  const sumSiemens = 1 / parts.topOhm + 1 / parts.bottomOhm + pullUpSiemens;
  const nodeFor = (pinV: number) => parts.topOhm * (pinV * sumSiemens - referenceV * pullUpSiemens);
  const stepV = (parts.topOhm * sumSiemens * referenceV) / CODE_COUNT;
  return { lowV: nodeFor(0), highV: nodeFor((referenceV * CODE_MAX) / CODE_COUNT), stepV };
}

/** Time until the pin follows its node to within one percent, ms; the node itself is taken as stiff. */
export function filterSettleMs(parts: DividerParts): number {
  const pullUpSiemens = parts.pullUpOhm === undefined ? 0 : 1 / parts.pullUpOhm;
  const ohm = 1 / (1 / parts.topOhm + 1 / parts.bottomOhm + pullUpSiemens);
  return SETTLED_TIME_CONSTANTS * ohm * parts.capacitorNf * 1e-6;
}

/** Volts of a line at the board: its source loaded by the divider that reads it back. */
export function loadedVolts(
  sourceV: number,
  sourceOhm: number,
  parts: DividerParts | null,
): number {
  if (parts === null) return sourceV;
  // The pull-up, where there is one, hardly moves a line; only the path to common counts here.
  const dividerOhm = parts.topOhm + parts.bottomOhm;
  return (sourceV * dividerOhm) / (sourceOhm + dividerOhm);
}

/** Volts for people: at most three decimals, no trailing zeros. */
export function volts(value: number): string {
  return `${Number(value.toFixed(3))} V`;
}

/** Milliseconds for people. */
export function milliseconds(value: number): string {
  return `${Number(value.toFixed(1))} ms`;
}
