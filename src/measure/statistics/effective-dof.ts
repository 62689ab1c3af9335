/**
 * Effective degrees of freedom, coverage factor and expanded uncertainty: JCGM 100:2008, annex G.
 */
import { normalQuantile, studentQuantile } from "./quantiles.ts";

/** One independent contribution to a combined uncertainty. */
export interface DofTerm {
  /** Standard uncertainty in units of the result: sensitivity times u(x). */
  readonly u: number;
  /** Degrees of freedom behind it; Infinity for "known", as of a type B bound (G.4.3). */
  readonly dof: number;
}

/**
 * Welch-Satterthwaite, JCGM 100 equation G.2b: the combined uncertainty to the fourth power over the
 * sum of each term to the fourth power by its own degrees of freedom. Not for correlated terms.
 *
 * @returns not rounded and not cut off: the guide's own example G.4.1 is 18.9987 and printed as 19.0.
 *   Infinity when every term is known, or when there is nothing uncertain at all
 * @throws RangeError for a negative uncertainty or degrees of freedom that are not positive
 */
export function effectiveDof(terms: readonly DofTerm[]): number {
  for (const { u, dof } of terms) {
    if (!(u >= 0 && u < Number.POSITIVE_INFINITY && dof > 0)) {
      throw new RangeError(
        `An uncertainty term needs u of zero or more and positive degrees of freedom, got u ${u} with ${dof}.`,
      );
    }
  }
  // Relative to the largest, so that the fourth power of a microvolt does not vanish.
  const largest = Math.max(0, ...terms.map(({ u }) => u));
  if (largest === 0) return Number.POSITIVE_INFINITY;
  let variance = 0;
  let spread = 0;
  for (const { u, dof } of terms) {
    const squared = (u / largest) ** 2;
    variance += squared;
    spread += squared ** 2 / dof;
  }
  return variance ** 2 / spread;
}

/** The root sum of squares of independent terms: JCGM 100 equation 10. */
export function combinedU(terms: readonly Pick<DofTerm, "u">[]): number {
  return Math.hypot(...terms.map(({ u }) => u));
}

/**
 * The factor k that makes U = k u an interval of the given level of confidence, from Student's t at
 * the degrees of freedom as they are (JCGM 100 G.3.2, G.4.1; G.4.1 lets one interpolate or cut off).
 */
export function coverageFactor(dof: number, confidence = 0.95): number {
  return studentQuantile((1 + confidence) / 2, dof);
}

/** Half-width for 95 % of a standard normal, 1.959964. */
export const NORMAL_95 = normalQuantile(0.975);
