/**
 * Plate and grid current of a triode section.
 *
 * Plate: N. L. Koren, Glass Audio vol. 8 no. 5 (1996), equation 4, in whose published constants the
 * factor 2 is contained. Grid: an ideal diode in series with a resistance, its corner rounded so
 * that current begins a little below 0 V, as it does in real tubes.
 */

export interface TriodeLaw {
  readonly mu: number;
  readonly ex: number;
  readonly kg1: number;
  readonly kp: number;
  readonly kvb: number;
  readonly gridOhm: number;
  readonly gridCornerV: number;
}

/** A current and how it moves with the volts; amperes and siemens. Written in place. */
export interface TriodeCurrent {
  plateA: number;
  platePerPlateV: number;
  platePerGridV: number;
  gridA: number;
  gridPerGridV: number;
}

/** Beyond this exponent ln(1 + exp(x)) is x to the last bit. */
const EXPONENT_MAX = 40;

/**
 * Currents of a section at full emission.
 *
 * @param plateV plate to cathode, volts; at or below 0 no plate current flows
 * @param gridV  grid to cathode, volts
 * @param out    receives amperes and siemens
 */
export function triodeCurrent(
  law: TriodeLaw,
  plateV: number,
  gridV: number,
  out: TriodeCurrent,
): void {
  const { mu, ex, kg1, kp, kvb } = law;
  if (plateV <= 0) {
    out.plateA = 0;
    out.platePerPlateV = 0;
    out.platePerGridV = 0;
  } else {
    const rootSquare = kvb + plateV * plateV;
    const root = Math.sqrt(rootSquare);
    const u = kp * (1 / mu + gridV / root);
    const grown = Math.exp(Math.min(u, EXPONENT_MAX));
    const softplus = u > EXPONENT_MAX ? u : Math.log1p(grown);
    const share = grown / (1 + grown);
    const driveV = (plateV / kp) * softplus;
    const slope = driveV > 0 ? ((2 * ex) / kg1) * driveV ** (ex - 1) : 0;
    out.plateA = (slope * driveV) / ex;
    out.platePerGridV = (slope * plateV * share) / root;
    out.platePerPlateV =
      slope * (softplus / kp - (plateV * plateV * share * gridV) / (rootSquare * root));
  }
  gridCurrent(law, gridV, out);
}

function gridCurrent(law: TriodeLaw, gridV: number, out: TriodeCurrent): void {
  const u = gridV / law.gridCornerV;
  const grown = Math.exp(Math.min(u, EXPONENT_MAX));
  const softplus = u > EXPONENT_MAX ? u : Math.log1p(grown);
  out.gridA = (law.gridCornerV * softplus) / law.gridOhm;
  out.gridPerGridV = grown / (1 + grown) / law.gridOhm;
}
