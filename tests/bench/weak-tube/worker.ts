/** One night, lived or read, and what is said of it. */
import { assessDrift } from "../../../src/verdict/drift/assess-drift.ts";
import type { DriftFinding, DriftRemark } from "../../../src/verdict/drift/report.ts";
import { serveJobs } from "../pool.ts";
import { EVERY_MS, HOURS, type Loss, scenarioOf, UNITS } from "./nights.ts";
import { plainRises } from "./plain-watch.ts";
import { readNight } from "./read-night.ts";
import { liveNight } from "./soak-night.ts";

export interface NightJob {
  /** The whole program, or its full sets alone. */
  readonly way: "lived" | "read";
  readonly seed: number;
  readonly loss: Loss | null;
}

export interface NightResult {
  /** Of a lived night. */
  readonly verdict: string;
  readonly cycles: number;
  readonly findings: readonly {
    readonly kind: DriftFinding["kind"];
    readonly sections: readonly string[];
  }[];
  readonly remarks: readonly DriftRemark["kind"][];
  readonly lows: readonly {
    readonly section: string;
    readonly driftV: number;
    readonly sdV: number;
    readonly noiseV: number;
    readonly hidden: number;
    readonly smallestV: number;
    /** Hours against the first two, volts. */
    readonly hoursV: readonly number[];
  }[];
  /** By section: most that an hour stood above the first two as read, volts. */
  readonly plainRises: Readonly<Record<string, number>>;
}

serveJobs(async ({ way, seed, loss }: NightJob): Promise<NightResult> => {
  const night = {
    unit: 1 + (seed % UNITS),
    scenario: scenarioOf({ seed, loss }),
    hours: HOURS,
    everyMs: EVERY_MS,
  };
  const lived =
    way === "lived" ? await liveNight(night) : { verdict: "pass", ...(await readNight(night)) };
  const { sets, board, cycles, verdict } = lived;
  const report = assessDrift(sets, board, { plannedHours: null, history: null });
  if (!report.judged) throw new Error(`night ${seed}: ${report.why}`);
  const lows = report.levels.filter((one) => one.class === "low");
  return {
    verdict,
    cycles,
    findings: report.findings.map(({ kind, sections }) => ({ kind, sections })),
    remarks: report.remarks.map(({ kind }) => kind),
    lows: lows.map(({ sections, drift, noiseV, smallestV, fromBaseline }) => ({
      section: sections.join(),
      driftV: drift.driftV,
      sdV: drift.sdV,
      noiseV,
      hidden: drift.hidden,
      smallestV,
      hoursV: fromBaseline.map(({ residualV }) => residualV),
    })),
    plainRises: plainRises(sets, board),
  };
});
