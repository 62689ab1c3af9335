/** Terms to one expanded uncertainty for 95 % (JCGM 100:2008, 5.1 and G.4). */
import { combinedU, effectiveDof } from "../statistics/effective-dof.ts";
import { halfWidth95 } from "../statistics/half-width.ts";
import type { UncertaintyTerm } from "./term.ts";

export interface Budget {
  readonly terms: readonly UncertaintyTerm[];
  /** Combined standard uncertainty, volts. */
  readonly u: number;
  /** Effective degrees of freedom; Infinity when nothing rests on few values. */
  readonly dof: number;
  /** U, volts: half-width of the interval that holds 95 %. */
  readonly expandedV: number;
  /** U over u; 0 when both are 0. */
  readonly k: number;
}

/**
 * Combine independent terms. The largest rectangular term is kept as what it is and the others are
 * taken together as a bell: a factor of 2 on a budget that one bounded term rules would say too much.
 */
export function combineTerms(terms: readonly UncertaintyTerm[]): Budget {
  const ruling = terms
    .filter(({ shape }) => shape === "rectangular")
    .reduce<UncertaintyTerm | null>(
      (most, one) => (most === null || one.u > most.u ? one : most),
      null,
    );
  const rest = terms.filter((one) => one !== ruling);
  const expandedV = halfWidth95({
    rectangularV: ruling?.halfV ?? 0,
    restV: combinedU(rest),
    restDof: effectiveDof(rest),
  });
  const u = combinedU(terms);
  return { terms, u, dof: effectiveDof(terms), expandedV, k: u === 0 ? 0 : expandedV / u };
}

/** With null in place of degrees of freedom without end: JSON knows no infinity. */
export function budgetForJson(budget: Budget) {
  const known = (dof: number) => (Number.isFinite(dof) ? dof : null);
  return {
    ...budget,
    dof: known(budget.dof),
    terms: budget.terms.map((term) => ({ ...term, dof: known(term.dof) })),
  };
}
