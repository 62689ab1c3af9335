/** Current of a small silicon diode, and how far one Newton step may move it. */

/**
 * A small-signal silicon diode: saturation current and slope volts n*kT/q with n = 1.75 at 300 K.
 * Typical figures: 0.6 V at 1 mA.
 */
const DIODE_SATURATION_A = 2.5e-9;
const DIODE_SLOPE_V = 1.75 * 0.025852;

/** Leak across every junction, siemens; keeps a net that nothing else drives at a definite volts. */
const DIODE_LEAK_S = 1e-10;

/** Forward volts beyond which the exponential is carried on as its tangent: 32 A, out of reach. */
const TANGENT_V = 23 * DIODE_SLOPE_V;

/** A current and its slope; amperes and siemens. Written in place. */
export interface DiodeCurrent {
  amps: number;
  perVolt: number;
}

/** Reverse volts beyond which only saturation and leak are left, to the last bit of a picoampere. */
const REVERSE_V = -1;

/** @param volts anode to cathode */
export function diodeCurrent(volts: number, out: DiodeCurrent): void {
  if (volts < REVERSE_V) {
    out.amps = DIODE_LEAK_S * volts - DIODE_SATURATION_A;
    out.perVolt = DIODE_LEAK_S;
    return;
  }
  const bent = Math.min(volts, TANGENT_V);
  const grown = DIODE_SATURATION_A * Math.exp(bent / DIODE_SLOPE_V);
  const slope = grown / DIODE_SLOPE_V;
  const beyondV = volts - bent;
  out.amps = grown - DIODE_SATURATION_A + slope * beyondV + DIODE_LEAK_S * volts;
  out.perVolt = slope + DIODE_LEAK_S;
}

/** Forward volts below which the exponential is gentle enough for a free step. */
const FREE_BELOW_V = 0.4;

/**
 * Volts at which to take the next tangent: above the knee a step grows only as its logarithm, since
 * a plain step along a tangent of an exponential overshoots to currents of kiloamperes.
 */
export function limitedJunctionV(wantedV: number, lastV: number): number {
  if (wantedV <= FREE_BELOW_V || Math.abs(wantedV - lastV) <= 2 * DIODE_SLOPE_V) return wantedV;
  const fromV = Math.max(lastV, FREE_BELOW_V);
  if (wantedV < fromV) return wantedV;
  return fromV + DIODE_SLOPE_V * Math.log1p((wantedV - fromV) / DIODE_SLOPE_V);
}
