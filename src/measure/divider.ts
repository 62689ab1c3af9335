/**
 * Codes of a 10-bit converter against volts at the node that a divider reads.
 *
 * With G = 1/R the pin sees Vp = (Vn*Gtop + Vref*GpullUp) / (Gtop + Gbottom + GpullUp), and the
 * converter gives code = 1024 * Vp / Vref. The pull-up and the converter share the reference, so
 * the code at 0 V does not depend on it. The node's own resistance is not known here: loading of
 * the node by the divider stays in the reading.
 */
import type { Divider } from "../events/plan.ts";

/** Codes of the converter: 0..1023. The first and the last say only "at or beyond". */
export const CODE_MAX = 1023;
const CODES = 1024;

export type CodeRounding = "down" | "nearest" | "up";

/** Largest code fraction that counts as arithmetic dust when rounding up or down. */
const ROUNDING_DUST = 1e-9;

interface Slope {
  /** Volts at the pin per volt at the node. */
  readonly slope: number;
  /** Volts at the pin, as a fraction of the reference, with the node at 0 V. */
  readonly offsetFraction: number;
}

function slopeOf(divider: Divider): Slope {
  const top = 1 / positive(divider.topOhm, "topOhm");
  const bottom = 1 / positive(divider.bottomOhm, "bottomOhm");
  const pullUp = divider.pullUpOhm === null ? 0 : 1 / positive(divider.pullUpOhm, "pullUpOhm");
  const sum = top + bottom + pullUp;
  return { slope: top / sum, offsetFraction: pullUp / sum };
}

function positive(value: number, name: string): number {
  if (!Number.isFinite(value) || value <= 0) {
    throw new RangeError(
      `Expected ${name} above 0 and finite, got ${value}. Correct the rig file.`,
    );
  }
  return value;
}

/**
 * Volts at the node for a mean code.
 *
 * @param codeMean   mean of one or more codes, 0..1024; fractions allowed
 * @param referenceV converter reference, volts, above 0
 * @returns volts to common
 * @throws RangeError when a resistance or the reference is not above 0, or the code is not finite
 */
export function nodeVolts(codeMean: number, divider: Divider, referenceV: number): number {
  positive(referenceV, "referenceV");
  if (!Number.isFinite(codeMean)) {
    throw new RangeError(`Expected a finite mean code, got ${codeMean}.`);
  }
  const { slope, offsetFraction } = slopeOf(divider);
  return ((codeMean / CODES - offsetFraction) * referenceV) / slope;
}

/**
 * Code at which the converter reads the given volts at the node, clamped to 0..1023.
 *
 * A trip limit that must not fire late is rounded inward: the upper one "down", the lower one "up".
 *
 * @throws RangeError when volts is not finite, or a resistance or the reference is not above 0
 */
export function codeForVolts(
  volts: number,
  divider: Divider,
  referenceV: number,
  rounding: CodeRounding = "nearest",
): number {
  positive(referenceV, "referenceV");
  if (!Number.isFinite(volts)) {
    throw new RangeError(`Expected finite volts, got ${volts}.`);
  }
  const { slope, offsetFraction } = slopeOf(divider);
  const exact = CODES * ((slope * volts) / referenceV + offsetFraction);
  return Math.min(CODE_MAX, Math.max(0, rounded(exact, rounding)));
}

function rounded(exact: number, rounding: CodeRounding): number {
  const whole = Math.round(exact);
  if (rounding === "nearest" || Math.abs(exact - whole) < ROUNDING_DUST * CODES) {
    return whole;
  }
  return rounding === "down" ? Math.floor(exact) : Math.ceil(exact);
}

/** Volts at the node that one code step stands for; above 0. */
export function voltsPerCode(divider: Divider, referenceV: number): number {
  return positive(referenceV, "referenceV") / CODES / slopeOf(divider).slope;
}

/**
 * Volts at the node with the pin at common and at the reference.
 *
 * A reading closer than one step to either end is clipped or says only "at most one step".
 */
export function rangeV(
  divider: Divider,
  referenceV: number,
): { readonly lowV: number; readonly highV: number } {
  return {
    lowV: nodeVolts(0, divider, referenceV),
    highV: nodeVolts(CODES, divider, referenceV),
  };
}
