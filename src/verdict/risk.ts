/**
 * What a verdict risks: how probable it is that a net that was passed is beyond its limit, or that one
 * that was failed is inside. JCGM 106:2012, clauses 7 (conformance), 8.3 (guard bands), 9 (risks).
 */
import { NORMAL_95 } from "../measure/statistics/effective-dof.ts";
import { normalCdf, normalPdf, studentCdf } from "../measure/statistics/quantiles.ts";
import type { RuledResult } from "./decision-rule.ts";

/** An interval with one open end or none; volts, or any unit that all share. */
export interface Tolerance {
  readonly low?: number;
  readonly high?: number;
}

export interface Estimate {
  readonly value: number;
  /** Standard uncertainty; positive. */
  readonly u: number;
  /** Degrees of freedom behind it; left out for a normal. */
  readonly dof?: number;
}

/**
 * Probability that the true value lies inside the tolerance, given its estimate and no other knowledge
 * (JCGM 106 7.2 to 7.4). For an item that was accepted, 1 less this is the specific consumer's risk; for
 * one that was rejected, this is the specific producer's risk (9.3.2, 9.3.3).
 */
export function conformanceProbability(
  { value, u, dof = Number.POSITIVE_INFINITY }: Estimate,
  { low, high }: Tolerance,
): number {
  checkPositive(u);
  const below = (limit: number) => studentCdf((limit - value) / u, dof);
  return (high === undefined ? 1 : below(high)) - (low === undefined ? 0 : below(low));
}

/**
 * How likely a net is beyond its limit, given what was read of it and nothing else: the specific
 * consumer's risk of a net that passes.
 *
 * @param marginV room from reading to limit, volts; negative is beyond it
 * @param u       standard uncertainty of the reading, volts, above 0
 * @param dof     degrees of freedom behind it; few make a far limit likelier than a normal would
 */
export function chanceBeyond(marginV: number, u: number, dof = Number.POSITIVE_INFINITY): number {
  checkPositive(u);
  return studentCdf(-marginV / u, dof);
}

/**
 * Probability that an item is nonconforming when its reading stands right at the acceptance limit, the
 * worst that can be passed: guard band w = r U inside one limit, normal error.
 *
 * @param r guard band in units of U: 1 for ILAC-G8:09/2019, 0 for simple acceptance
 * @param k what U is of the standard uncertainty
 */
export function falseAcceptAtLimit(r: number, k = NORMAL_95): number {
  return normalCdf(-r * k);
}

export interface Process {
  /** Of the true values of all boards that come along. */
  readonly mean: number;
  /** Their standard deviation. */
  readonly sd: number;
}

export interface GlobalRisks {
  /** Of all boards, those beyond the tolerance and accepted. */
  readonly consumer: number;
  /** Of all boards, those inside the tolerance and rejected. */
  readonly producer: number;
}

/**
 * Risks over a whole process of normal true values, measured with a normal error (JCGM 106 9.5): the
 * density of a true value times the probability of its wrong verdict, integrated.
 *
 * @param u          standard uncertainty of a measurement
 * @param acceptance where readings are accepted; an end left out is open
 */
export function globalRisks(
  process: Process,
  u: number,
  tolerance: Tolerance,
  acceptance: Tolerance,
): GlobalRisks {
  checkPositive(u);
  checkPositive(process.sd);
  const density = (value: number) => normalPdf((value - process.mean) / process.sd) / process.sd;
  const accepted = (value: number) => conformanceProbability({ value, u }, acceptance);
  const ends = [process.mean - REACH * process.sd, process.mean + REACH * process.sd] as const;
  // Cut where the integrand turns: at the tolerance, and about the acceptance limits.
  const cuts = [tolerance.low, tolerance.high];
  for (const limit of [acceptance.low, acceptance.high]) {
    if (limit !== undefined) cuts.push(limit - REACH * u, limit, limit + REACH * u);
  }
  const inside = cuts.filter((cut) => cut !== undefined && cut > ends[0] && cut < ends[1]);
  const edges = [...ends, ...inside].filter((edge) => edge !== undefined).sort((a, b) => a - b);
  let [consumer, producer] = [0, 0];
  for (const [at, from] of edges.slice(0, -1).entries()) {
    const to = edges[at + 1] ?? from;
    const middle = (from + to) / 2;
    const conforms =
      middle >= (tolerance.low ?? -Infinity) && middle <= (tolerance.high ?? Infinity);
    if (conforms) producer += integral((x) => density(x) * (1 - accepted(x)), from, to);
    else consumer += integral((x) => density(x) * accepted(x), from, to);
  }
  return { consumer, producer };
}

/**
 * The operating curve of the guarded rule with w = U: how probable each result is for a net whose true
 * level has this much room to its limit.
 *
 * @param marginV   true room to the limit, volts; negative is beyond it
 * @param expandedV U, volts, positive
 * @param k         what U is of the standard uncertainty of a normal error
 */
export function resultProbabilities(
  marginV: number,
  expandedV: number,
  k = NORMAL_95,
): Readonly<Record<RuledResult, number>> {
  checkPositive(expandedV);
  const u = expandedV / k;
  const readsAtLeast = (room: number) => normalCdf((marginV - room) / u);
  const [pass, inside, nearly] = [
    readsAtLeast(expandedV),
    readsAtLeast(0),
    readsAtLeast(-expandedV),
  ];
  return {
    pass,
    "conditional pass": inside - pass,
    "conditional fail": nearly - inside,
    fail: 1 - nearly,
  };
}

/** Standard deviations beyond which nothing is left that counts. */
const REACH = 8.5;
const STRIPS = 400;

/** Simpson's rule; every piece is smooth over its width. */
function integral(density: (x: number) => number, from: number, to: number): number {
  const step = (to - from) / STRIPS;
  let sum = density(from) + density(to);
  for (let at = 1; at < STRIPS; at += 1) {
    sum += (at % 2 === 1 ? 4 : 2) * density(from + at * step);
  }
  return (sum * step) / 3;
}

function checkPositive(u: number): void {
  if (!(u > 0 && u < Number.POSITIVE_INFINITY)) {
    throw new RangeError(`A risk needs a positive uncertainty, got ${u}.`);
  }
}
