/**
 * Codes of a 10-bit converter against volts at the node that a divider reads.
 *
 * The currents into the pin sum to nothing, so Vn = Vp * (1 + top/bottom + top/pullUp) - Vref *
 * top/pullUp, and the converter gives code = 1024 * Vp / Vref. The pull-up and the converter share
 * the reference, so the code at 0 V does not depend on it. Two things stay in the reading and in
 * the uncertainty that is not evaluated yet: the divider loads the node, whose resistance is not
 * known here, and the converter truncates, half a step on average.
 */
import type { Divider } from "../events/plan.ts";

/** How many codes the converter has: 2 to the 10. */
export const CODES = 1024;
/** Codes of the converter: 0..1023. The first and the last say only "at or beyond". */
export const CODE_MAX = CODES - 1;

export type CodeRounding = "down" | "nearest" | "up";

/** Largest code fraction that counts as arithmetic dust when rounding up or down. */
const ROUNDING_DUST = 1e-9;

interface Ratios {
  /** Volts at the node per volt at the pin. */
  readonly gain: number;
  /** Volts the pull-up takes off at the node, per volt of the reference. */
  readonly shift: number;
}

function ratiosOf(divider: Divider): Ratios {
  const topOhm = positive(divider.topOhm, "topOhm");
  const shift = divider.pullUpOhm === null ? 0 : topOhm / positive(divider.pullUpOhm, "pullUpOhm");
  return { gain: 1 + topOhm / positive(divider.bottomOhm, "bottomOhm") + shift, shift };
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
  const { gain, shift } = ratiosOf(divider);
  return referenceV * ((codeMean / CODES) * gain - shift);
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
  const { gain, shift } = ratiosOf(divider);
  const exact = (CODES * (volts / referenceV + shift)) / gain;
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
  return (positive(referenceV, "referenceV") / CODES) * ratiosOf(divider).gain;
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

/**
 * Time constant at the converter's pin: the divider's resistors side by side, and the capacitor. The
 * node's own resistance adds to the top one; it is small beside it and not known here.
 *
 * @returns microseconds
 */
export function filterUs(divider: Divider, capacitorNf: number): number {
  const siemens =
    1 / positive(divider.topOhm, "topOhm") +
    1 / positive(divider.bottomOhm, "bottomOhm") +
    (divider.pullUpOhm === null ? 0 : 1 / positive(divider.pullUpOhm, "pullUpOhm"));
  return capacitorNf / siemens / 1000;
}
