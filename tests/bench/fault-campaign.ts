/**
 * Every fault at every position where it can occur, and healthy boards scattered by seed: no faulty
 * board passes, no ceiling is exceeded, the first net named is the fault's or its direct fan-out,
 * with what it read; every healthy board passes.
 */
import type { Plan } from "../../src/events/plan.ts";
import { USUAL_SPREAD } from "../../src/simulate/circuit/board-model.ts";
import { type FaultPosition, faultPositions } from "../../src/simulate/circuit/fault-positions.ts";
import {
  type EmulatedRunJob,
  type EmulatedRunResult,
  type Haste,
  shippedProof,
} from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";
import { runPool } from "./pool.ts";

export interface Campaign {
  /** First word of every figure. */
  readonly name: string;
  readonly boards: readonly string[];
  /**
   * Boards of which the quick count takes every position; of the others, and of the many pairs of
   * leads that can be exchanged, one in so many of each kind.
   */
  readonly whole: readonly string[];
  readonly oneIn: number;
  /** Healthy boards of each type. */
  readonly seeds: number;
}

const SEEDS_FULL = 200;
/** A latch that holds for a second is asked for two minutes by the main-job figure. */
const HASTE: Haste = { holdMsMax: 1000, warmUpMsMax: 60_000, warmUpSettleMsMin: 500 };
/** A healthy shipped board is warm after some 25 s; waiting longer shows nothing more of a dead one. */
const FAULTY_WARM_UP_MS_MAX = 32_000;
/** The kind with a position for every pair of leads. */
const MANY: FaultPosition["kind"] = "exchanged leads";

const worker = new URL("./emulated-worker.ts", import.meta.url);

/** Report how many faults were caught as they must be, and how many healthy boards pass. */
export async function faultCampaign(context: FigureContext, campaign: Campaign): Promise<void> {
  const begun = performance.now();
  await faulty(context, campaign);
  await healthy(context, campaign);
  context.say(`${Math.round((performance.now() - begun) / 1000)} s in all`);
}

interface FaultJob {
  readonly board: string;
  readonly fault: FaultPosition;
}

function tried(
  board: string,
  faults: readonly FaultPosition[],
  { whole, oneIn }: Campaign,
  full: boolean,
): FaultPosition[] {
  const seen = new Map<string, number>();
  return faults.filter(({ kind }) => {
    const place = seen.get(kind) ?? 0;
    seen.set(kind, place + 1);
    const every = full || (whole.includes(board) && kind !== MANY);
    return every || place % oneIn === 0;
  });
}

async function faulty({ full, report, say }: FigureContext, campaign: Campaign): Promise<void> {
  const jobs: FaultJob[] = [];
  for (const board of campaign.boards) {
    const { circuit, rig } = await shippedProof(board);
    if (circuit === null) throw new Error(`${board} has no circuit`);
    const faults = tried(board, faultPositions(circuit, rig), campaign, full);
    jobs.push(...faults.map((fault) => ({ board, fault })));
  }
  const results = await runPool<EmulatedRunJob, EmulatedRunResult>({
    worker,
    jobs: jobs.map(({ board, fault }, index) => ({
      board,
      seed: index + 1,
      changes: fault.changes,
      spread: null,
      haste: { ...HASTE, warmUpMsMax: FAULTY_WARM_UP_MS_MAX },
    })),
  });
  const kinds = new Map<string, { total: number; held: number }>();
  for (const [index, { board, fault }] of jobs.entries()) {
    const result = results[index];
    if (result === undefined) throw new Error("a fault gave no result");
    const { plan } = await shippedProof(board);
    const wrong = wrongWith(fault, result, plan);
    const count = kinds.get(fault.kind) ?? { total: 0, held: 0 };
    count.total += 1;
    if (wrong.length === 0) count.held += 1;
    else
      say(
        `${board}, ${fault.kind} at ${fault.position}: ${wrong.join("; ")} [${result.verdict}, ${result.cause}: ${result.detail}]`,
      );
    kinds.set(fault.kind, count);
  }
  for (const [kind, { total, held }] of kinds) {
    report({
      name: `${campaign.name} ${kind}`,
      value: percent(held, total),
      unit: `% of ${total} positions, ${full ? "all there are" : quickShare(kind, campaign)}`,
      limit: "= 100",
      holds: held === total,
    });
  }
}

function quickShare(kind: string, { oneIn, whole }: Campaign): string {
  const but = kind === MANY || whole.length === 0 ? "" : `, all of ${whole.join(", ")}`;
  return `1 in ${oneIn}${but}`;
}

function wrongWith(fault: FaultPosition, result: EmulatedRunResult, plan: Plan): string[] {
  const wrong = [...ceilingsExceeded(result, plan)];
  if (result.verdict.endsWith("pass")) return [...wrong, `verdict ${result.verdict}`];
  const named = result.firstMiss;
  if (named === null) return [...wrong, "no net is named"];
  if (!fault.acceptableNets.includes(named.net)) {
    wrong.push(`${named.net} is named, expected one of ${fault.acceptableNets.join(", ")}`);
  }
  if (!/-?\d+\.\d+ V|\d+ mA/.test(named.text)) wrong.push(`no reading in "${named.text}"`);
  return wrong;
}

function ceilingsExceeded(result: EmulatedRunResult, plan: Plan): string[] {
  return plan.rails
    .filter(({ rail, ceilingV }) => result.highestV[rail] > Math.abs(ceilingV))
    .map(({ rail }) => `${rail} reached ${result.highestV[rail]} V`);
}

async function healthy({ full, report, say }: FigureContext, campaign: Campaign): Promise<void> {
  const seeds = full ? SEEDS_FULL : campaign.seeds;
  for (const board of campaign.boards) {
    const jobs = Array.from(
      { length: seeds },
      (_, seed): EmulatedRunJob => ({
        board,
        seed,
        changes: [],
        spread: USUAL_SPREAD,
        haste: HASTE,
      }),
    );
    const results = await runPool<EmulatedRunJob, EmulatedRunResult>({ worker, jobs });
    const { plan } = await shippedProof(board);
    let passed = 0;
    for (const [seed, result] of results.entries()) {
      const over = ceilingsExceeded(result, plan);
      if (result.verdict === "pass" && over.length === 0) passed += 1;
      else say(`${board} seed ${seed}: ${result.verdict} (${result.detail}) ${over.join("; ")}`);
    }
    report({
      name: `${campaign.name} healthy ${board} with parts +-5 %, tubes +-15 %`,
      value: percent(passed, seeds),
      unit: `% of ${seeds}`,
      limit: "= 100",
      holds: passed === seeds,
    });
  }
}

function percent(part: number, whole: number): number {
  return Math.round((10_000 * part) / whole) / 100;
}
