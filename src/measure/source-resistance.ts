/**
 * Source resistance of a net from its volts without and with a known load: a divider of the two, by Ohm
 * and Thevenin. Both readings come through one channel, so that what its scale is off by cancels nearly.
 */

export interface LoadedPair {
  readonly openV: number;
  readonly loadedV: number;
  readonly loadOhm: number;
  /** Where the load's other end goes, volts. */
  readonly towardsV: number;
  /** What each of the two may be off by besides its scale, half-width, volts. */
  readonly stepV: number;
}

export interface MeasuredSource {
  readonly ohm: number;
  /** Half-width, ohms. */
  readonly halfOhm: number;
}

/** @returns null when the load moved the net by less than its readings can tell */
export function sourceResistance(pair: LoadedPair): MeasuredSource | null {
  const { openV, loadedV, loadOhm, towardsV, stepV } = pair;
  const movedV = openV - loadedV;
  const acrossV = loadedV - towardsV;
  if (Math.abs(acrossV) <= 2 * stepV || movedV * acrossV <= 0) return null;
  const perVolt = loadOhm / Math.abs(acrossV);
  const ohm = Math.abs(movedV) * perVolt;
  const halfOhm = 2 * stepV * perVolt;
  return halfOhm < ohm ? { ohm, halfOhm } : null;
}
