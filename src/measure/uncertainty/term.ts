/** One line of an uncertainty budget (JCGM 100:2008, clauses 4.2 and 4.3). */

export type TermName =
  | "noise"
  | "quantisation"
  | "fit"
  | "meter"
  | "converter"
  | "divider"
  | "reference"
  | "temperature"
  | "loading"
  | "hum"
  | "ground";

export interface UncertaintyTerm {
  readonly name: TermName;
  /** Distribution taken: bounded ones have their half-width in `halfV`. */
  readonly shape: "normal" | "rectangular" | "arcsine";
  readonly halfV: number | null;
  /** Standard uncertainty in the reading, volts. */
  readonly u: number;
  /** Infinity for a term known beforehand (type B, JCGM 100 G.4.3). */
  readonly dof: number;
  /** What it rests on, for the printed table. */
  readonly basis: string;
}

/** Estimated from values (type A) or known as a standard uncertainty. */
export function normalTerm(
  name: TermName,
  u: number,
  basis: string,
  dof = Number.POSITIVE_INFINITY,
): UncertaintyTerm {
  return { name, shape: "normal", halfV: null, u, dof, basis };
}

/** Somewhere within plus or minus `halfV`, all alike: u is halfV over the root of 3 (4.3.7). */
export function rectangularTerm(name: TermName, halfV: number, basis: string): UncertaintyTerm {
  return {
    name,
    shape: "rectangular",
    halfV,
    u: halfV / Math.sqrt(3),
    dof: Number.POSITIVE_INFINITY,
    basis,
  };
}

/** The term as a correction that multiplies the reading leaves it. */
export function magnify(term: UncertaintyTerm, factor: number): UncertaintyTerm {
  const { halfV, u } = term;
  return { ...term, halfV: halfV === null ? null : factor * halfV, u: factor * u };
}

/** A sine of this amplitude caught at no known phase: u is the amplitude over the root of 2. */
export function arcsineTerm(name: TermName, amplitudeV: number, basis: string): UncertaintyTerm {
  return {
    name,
    shape: "arcsine",
    halfV: amplitudeV,
    u: amplitudeV / Math.SQRT2,
    dof: Number.POSITIVE_INFINITY,
    basis,
  };
}
