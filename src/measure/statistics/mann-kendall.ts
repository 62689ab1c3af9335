/**
 * Whether a series rises or falls at all, by the order of its values alone: the Mann-Kendall test (Mann
 * 1945, Econometrica 13, 245-259; Kendall, Rank Correlation Methods; US EPA QA/G-9S (2006), 4.3).
 *
 * For values that know nothing of each other but the trend: readings that share a slow disturbance look
 * like a trend and must be compensated, or taken further apart, first.
 */
import { normalCdf } from "./quantiles.ts";

export interface MannKendall {
  readonly n: number;
  /** Kendall's S: pairs that rise less pairs that fall. */
  readonly s: number;
  /** Variance of S where there is no trend, corrected for ties. */
  readonly variance: number;
  /** S by its deviation, with continuity correction; 0 where all values are equal. */
  readonly z: number;
  /** S as a part of all pairs: tau-a. */
  readonly tau: number;
  /**
   * Chance of an S so far from zero, on either side, without a trend: exact up to EXACT_MAX values without
   * ties, else of the normal.
   */
  readonly p: number;
}

/** Up to so many values the exact distribution is counted out; there the normal is within 0.004 of it. */
const EXACT_MAX = 30;

/**
 * @param values in order of time
 * @throws RangeError for fewer than two values, or one that is not finite
 */
export function mannKendall(values: readonly number[]): MannKendall {
  const n = values.length;
  if (n < 2) throw new RangeError(`A trend needs two values or more, got ${n}.`);
  const odd = values.find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`A trend is of finite values only, got ${odd}.`);
  const { s, tied } = orderOf(values);
  const variance = (pairTerm(n) - tied.reduce((sum, size) => sum + pairTerm(size), 0)) / 18;
  const z = s === 0 || variance === 0 ? 0 : (s - Math.sign(s)) / Math.sqrt(variance);
  return {
    n,
    s,
    variance,
    z,
    tau: s / ((n * (n - 1)) / 2),
    p:
      n <= EXACT_MAX && tied.length === 0
        ? exactP(n, Math.abs(s))
        : Math.min(1, 2 * normalCdf(-Math.abs(z))),
  };
}

function pairTerm(n: number): number {
  return n * (n - 1) * (2 * n + 5);
}

/** S over all pairs, and the sizes of groups of equal values. */
function orderOf(values: readonly number[]): { readonly s: number; readonly tied: number[] } {
  let s = 0;
  for (const [at, later] of values.entries()) {
    for (let before = 0; before < at; before += 1)
      s += Math.sign(later - (values[before] ?? later));
  }
  const groups = new Map<number, number>();
  for (const value of values) groups.set(value, (groups.get(value) ?? 0) + 1);
  return { s, tied: [...groups.values()].filter((size) => size > 1) };
}

/**
 * Orders of n values by their inversions, counted value by value: the distribution that Kendall's tables
 * are made of.
 */
function exactP(n: number, s: number): number {
  let chances = [1];
  for (let size = 2; size <= n; size += 1) {
    const next = new Array<number>(chances.length + size - 1).fill(0);
    chances.forEach((chance, at) => {
      for (let more = 0; more < size; more += 1) {
        next[at + more] = (next[at + more] ?? 0) + chance / size;
      }
    });
    chances = next;
  }
  if (s === 0) return 1;
  // S is all pairs less twice the inversions.
  const inversionsMax = ((n * (n - 1)) / 2 - s) / 2;
  return 2 * chances.slice(0, inversionsMax + 1).reduce((sum, chance) => sum + chance, 0);
}
