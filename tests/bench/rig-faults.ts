/**
 * Faults of a rig at every position on every shipped rig, found and rightly named; and good rigs,
 * scattered by seed, of which nothing is said.
 */
import type { RigFault, RigFinding } from "../../src/events/rig-check.ts";
import { findingText } from "../../src/verdict/rig-fault-words.ts";
import { shippedProof } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";
import { runPool } from "./pool.ts";
import type { RigCheckJob, RigCheckResult } from "./rig-check-run.ts";
import { type RigFaultPosition, rigFaultPositions } from "./rig-fault-positions.ts";

const BOARDS = ["flasher-latch", "sector-latch", "watch-adder", "fog-divider", "blast-ring"];
/** The quick count takes one in so many pairs of leads, of which there are hundreds. */
const SWAPS_ONE_IN = 5;
const SEEDS = { quick: 50, full: 200 };
/** What was found and what it might be else: a list longer than this is no name. */
const NAMES_MAX = 4;
const FOUND_MIN = 99;
const ALARMS_MAX = 0.5;

const worker = new URL("./rig-check-worker.ts", import.meta.url);

export async function figure(context: FigureContext): Promise<void> {
  const begun = performance.now();
  await faulty(context);
  await good(context);
  context.say(`${Math.round((performance.now() - begun) / 1000)} s in all`);
}

interface Count {
  total: number;
  found: number;
  named: number;
  alone: number;
}

async function faulty({ full, report, say }: FigureContext): Promise<void> {
  const tried: { readonly board: string; readonly fault: RigFaultPosition }[] = [];
  for (const board of BOARDS) {
    const { rig } = await shippedProof(board);
    let swaps = 0;
    for (const fault of rigFaultPositions(rig)) {
      const isSwap = fault.kind === "swapped leads";
      if (isSwap) swaps += 1;
      if (!full && isSwap && swaps % SWAPS_ONE_IN !== 0) continue;
      tried.push({ board, fault });
    }
  }
  const results = await runPool<RigCheckJob, RigCheckResult>({
    worker,
    jobs: tried.map(({ board, fault }, seed) => ({ board, seed, changes: fault.changes })),
  });
  const counts = new Map<string, Count>();
  const all: Count = { total: 0, found: 0, named: 0, alone: 0 };
  for (const [at, { board, fault }] of tried.entries()) {
    const result = results[at];
    if (result === undefined) throw new Error("a fault gave no result");
    const count = counts.get(fault.kind) ?? { total: 0, found: 0, named: 0, alone: 0 };
    counts.set(fault.kind, count);
    const rank = rankOf(result.findings, fault.named);
    for (const one of [count, all]) {
      one.total += 1;
      if (result.findings.length > 0) one.found += 1;
      if (rank !== null) one.named += 1;
      if (rank === 1) one.alone += 1;
    }
    if (rank === null) {
      const said = result.findings.map(findingText).join(" | ");
      say(`${board}, ${fault.kind} ${fault.position}: ${said || `nothing (${result.detail})`}`);
    }
  }
  for (const [kind, { total, named, alone }] of counts) {
    say(`${kind}: ${named} of ${total} named, ${alone} of them alone`);
  }
  const share = full ? "all positions" : `all positions, 1 in ${SWAPS_ONE_IN} swapped pairs`;
  const unit = `% of ${all.total} faults on ${BOARDS.length} rigs, ${share}`;
  const shown = [
    ["rig-faults found", all.found, FOUND_MIN],
    [`rig-faults named, among ${NAMES_MAX} at most`, all.named, FOUND_MIN],
  ] as const;
  for (const [name, held, least] of shown) {
    const value = percent(held, all.total);
    report({ name, value, unit, limit: `>= ${least}`, holds: value >= least });
  }
  const value = percent(all.alone, all.total);
  report({ name: "rig-faults named alone", value, unit, limit: ">= 80", holds: value >= 80 });
}

/**
 * How many names the first finding that holds the right one offers; null when none does.
 *
 * What is said beside it is not held against it: a fault may make another channel look wrong too.
 */
function rankOf(findings: readonly RigFinding[], named: readonly RigFault[]): number | null {
  const [first] = findings;
  if (first === undefined) return null;
  const offered: RigFault[] = [first, ...first.orElse];
  const isRight = (one: RigFault): boolean =>
    named.some(
      ({ kind, where, other }) => kind === one.kind && where === one.where && other === one.other,
    );
  if (offered.length > NAMES_MAX || !offered.some(isRight)) return null;
  return offered.length;
}

async function good({ full, report, say }: FigureContext): Promise<void> {
  const seeds = full ? SEEDS.full : SEEDS.quick;
  const jobs = BOARDS.flatMap((board) =>
    Array.from({ length: seeds }, (_, seed): RigCheckJob => ({ board, seed, changes: [] })),
  );
  const results = await runPool<RigCheckJob, RigCheckResult>({ worker, jobs });
  let alarms = 0;
  let unproved = 0;
  for (const [at, { findings, cause, detail, allProvedOff }] of results.entries()) {
    if (!allProvedOff) unproved += 1;
    if (findings.length === 0 && cause === "completed") continue;
    alarms += 1;
    say(
      `${jobs[at]?.board} seed ${jobs[at]?.seed}: ${cause}, ${findings.map(findingText).join(" | ") || detail}`,
    );
  }
  const unit = `% of ${jobs.length} good rigs, dividers +-0.5 %, noise and hum`;
  const value = percent(alarms, jobs.length);
  report({
    name: "rig-faults false alarms",
    value,
    unit,
    limit: `<= ${ALARMS_MAX}`,
    holds: value <= ALARMS_MAX,
  });
  report({
    name: "rig-faults ends not proved off",
    value: unproved,
    unit: `of ${jobs.length} good rigs`,
    limit: "= 0",
    holds: unproved === 0,
  });
}

function percent(part: number, whole: number): number {
  return Math.round((10_000 * part) / whole) / 100;
}
