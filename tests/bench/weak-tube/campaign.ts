/** The campaign behind the figure and its picture: healthy nights first, for their sigma is what drift is stated in. */
import { runPool } from "../pool.ts";
import { type Loss, SECTIONS } from "./nights.ts";
import type { NightJob, NightResult } from "./worker.ts";

/** Low level for a hundredth of emission, volts: tests/verdict/drift/stage-figures.test.ts. */
export const VOLTS_PER_PERCENT = 0.057;
/** Seeds of weak nights begin here, a block for each drift. */
const WEAK_SEEDS = 10_000;
const SEEDS_PER_DRIFT = 1000;

export interface Named {
  readonly driftSigma: number;
  readonly nights: number;
  /** The right section and no other finding. */
  readonly named: number;
  /** Any other finding: another section, or of another kind. */
  readonly otherwise: number;
  readonly notSeparable: number;
  readonly results: readonly NightResult[];
}

export function nights(jobs: readonly NightJob[]): Promise<NightResult[]> {
  return runPool<NightJob, NightResult>({ worker: new URL("./worker.ts", import.meta.url), jobs });
}

export function healthyNights(count: number): Promise<NightResult[]> {
  return nights(
    Array.from({ length: count }, (_, at) => ({ way: "read", seed: at + 1, loss: null })),
  );
}

/** Standard deviation of the compensated hourly residual over healthy nights, volts. */
export function sigmaOf(healthy: readonly NightResult[]): number {
  const hours = healthy.flatMap(({ lows }) => lows.flatMap(({ hoursV }) => hoursV));
  return Math.sqrt(hours.reduce((sum, one) => sum + one * one, 0) / hours.length);
}

export function weakJobs(
  driftSigma: number,
  count: number,
  sigmaV: number,
): (NightJob & { loss: Loss })[] {
  const percent = (driftSigma * sigmaV) / VOLTS_PER_PERCENT;
  return Array.from({ length: count }, (_, at) => ({
    way: "read",
    seed: WEAK_SEEDS + SEEDS_PER_DRIFT * driftSigma + at,
    loss: { section: SECTIONS[at % SECTIONS.length] ?? "V1a", percent },
  }));
}

export async function weakNights(
  driftSigma: number,
  count: number,
  sigmaV: number,
): Promise<Named> {
  const jobs = weakJobs(driftSigma, count, sigmaV);
  const results = await nights(jobs);
  const right = results.map(({ findings }, at) => {
    const [only] = findings;
    const { section } = jobs[at]?.loss ?? { section: "" };
    const isOne = findings.length === 1 && only?.kind === "loses emission";
    return isOne && only.sections.join() === section;
  });
  return {
    driftSigma,
    nights: count,
    named: right.filter(Boolean).length,
    otherwise: results.filter(({ findings }, at) => findings.length > 0 && !right[at]).length,
    notSeparable: results.filter(({ remarks }) => remarks.includes("not separable")).length,
    results,
  };
}
