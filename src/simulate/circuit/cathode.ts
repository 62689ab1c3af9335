/**
 * Cathode temperature and what of the full emission it gives. 0 is the temperature of the room, 1
 * that of a cathode heated at its rated current for a long time.
 */

/** Seconds in which a cathode covers 63 % of the way to its final temperature. */
export const CATHODE_LAG_S = 10.5;

/** The wire inside is lighter than the cathode around it, and sooner hot. Seconds, 63 %. */
export const WIRE_LAG_S = 4;

/** Temperature at which a section gives half its current, and how sharp the bend is. */
const HALF_AT = 0.8;
const BEND = 0.03;

/** Radiation rises steeply with temperature, so temperature rises slowly with power. */
const POWER_EXPONENT = 0.3;

/** A tungsten heater at room temperature has about a fifth of its hot resistance. */
const COLD_FRACTION = 0.2;

/**
 * Share of full emission.
 *
 * @param temperature 0 room, 1 rated
 * @param halfAt see `halfCurrentAt`; that of a new cathode when left out
 * @returns 0..1; about 0.9987 for a new cathode at the rated temperature
 */
export function emissionShare(temperature: number, halfAt = HALF_AT): number {
  return 1 / (1 + Math.exp(-(temperature - halfAt) / BEND));
}

/**
 * Temperature at which a cathode gives half its current. One that has lost activity has no reserve: at its rated
 * temperature it gives this share of what a new one does, and with less heat far less (common practice; the
 * shape of the bend is this model's own).
 *
 * @param activity above 0, at most 1: a new one
 */
export function halfCurrentAt(activity: number): number {
  const share = activity * emissionShare(1);
  return 1 - BEND * Math.log(share / (1 - share));
}

/** Temperature the cathode tends to at a heater power given as a fraction of the rated one. */
export function finalTemperature(powerFraction: number): number {
  return powerFraction <= 0 ? 0 : powerFraction ** POWER_EXPONENT;
}

/** Ohms of a heater at a temperature. */
export function heaterOhm(hotOhm: number, temperature: number): number {
  return hotOhm * (COLD_FRACTION + (1 - COLD_FRACTION) * temperature);
}

/**
 * Temperature after some time at constant power.
 *
 * @param lagS first-order lag, seconds, above 0
 */
export function laterTemperature(
  temperature: number,
  powerFraction: number,
  lagS: number,
  seconds: number,
): number {
  const end = finalTemperature(powerFraction);
  return end + (temperature - end) * Math.exp(-seconds / lagS);
}
