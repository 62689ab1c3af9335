/**
 * How a level of a triode stage moves with rails, reference and temperature before anything was measured:
 * sign, size and how far that may be off. A night in which a rail moves on its own says it better; in one
 * in which it does not, this is what is left.
 *
 * Low level: the section's plate current follows a power of some 3/2 of the plate volts (Child and
 * Langmuir), and load and tube share the rail: dV/dP = 1 / (1 + 1.5 (P - V) / V). A grid held by its own
 * current rises a little with the level that drives it, which takes a quarter off. A more negative bias
 * takes drive from the grid: the level rises. A hotter cathode gives a little more: the level falls.
 * High level: a divider of load and what hangs on the net, so it moves in step with the plate rail.
 * Sizes of bias and heater are of ECC82 stages as the board files have them, by the circuit solver.
 */
import type { Influence } from "./influences.ts";

export interface Sensitivity {
  /** Volts of level for a volt of rail, a whole reference, a kelvin. */
  readonly mean: number;
  /** Standard deviation of what it may be. */
  readonly sd: number;
}

const GRID_SHARE = 0.75;
const PLATE_DOUBT = 0.15;
/** Volts of low level a volt of bias, and a whole heater supply. */
const BIAS = -0.08;
const HEATER = -0.15;
/** Readings are corrected for a reference that is measured; what is left of it is a part of the level. */
const REFERENCE_DOUBT = 0.05;
/** Resistors go with temperature by some hundred parts in a million and kelvin, either way. */
const PER_KELVIN = 1e-4;
/**
 * What of its own volts a level moves by for a whole load resistor (7.3 V at 11.5 V) and for the mismatch of the
 * measuring divider; they know nothing of each other.
 */
const LOW_PER_RESISTOR = Math.hypot(0.6, 0.4);
const HIGH_PER_RESISTOR = 1;

/** @param at volts of the level, and of plate and heater rails where they are read */
export function defaultSensitivity(
  level: "low" | "high",
  influence: Influence,
  at: { readonly levelV: number; readonly plateV?: number; readonly heaterV?: number },
): Sensitivity {
  const { levelV, plateV = 2 * levelV, heaterV = 6.3 } = at;
  const low = level === "low";
  switch (influence) {
    case "plate": {
      if (!low) return { mean: levelV / plateV, sd: 0.1 };
      const across = Math.max(0, plateV - levelV) / Math.max(0.5, levelV);
      const mean = GRID_SHARE / (1 + 1.5 * across);
      return { mean, sd: PLATE_DOUBT * mean };
    }
    case "bias":
      return low ? { mean: BIAS, sd: Math.abs(BIAS) / 3 } : { mean: 0, sd: 0.01 };
    case "heater":
      return low ? { mean: HEATER / heaterV, sd: -HEATER / heaterV } : { mean: 0, sd: 0.005 };
    case "reference":
      return { mean: 0, sd: REFERENCE_DOUBT * Math.abs(levelV) };
    case "temperature":
      return {
        mean: 0,
        sd: PER_KELVIN * Math.abs(levelV) * (low ? LOW_PER_RESISTOR : HIGH_PER_RESISTOR),
      };
  }
}
