/** Degrees of freedom of a sum of independent terms, by Welch and Satterthwaite (JCGM 100:2008, G.4.1, equation G.2b). */

export interface DofTerm {
  /** Standard uncertainty of the term as it stands in the sum. */
  readonly u: number;
  /** Infinity for a term that is known. */
  readonly dof: number;
}

/** @returns Infinity when nothing in the sum is estimated from few values */
export function effectiveDof(terms: readonly DofTerm[]): number {
  const variance = terms.reduce((sum, { u }) => sum + u * u, 0);
  const spread = terms.reduce((sum, { u, dof }) => sum + (u * u * u * u) / dof, 0);
  return spread === 0 ? Number.POSITIVE_INFINITY : (variance * variance) / spread;
}
