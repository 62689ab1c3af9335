/** `holdfast compare`: a unit's run against its baseline, against the run before it, and against its sisters. */
import { type AmongSisters, amongSisters, sisterLevels } from "../history/among-sisters.ts";
import { compareLevels, differences, type LevelChange } from "../history/compare-runs.ts";
import { levelsOf } from "../history/level.ts";
import { type SocketChange, socketChanges } from "../history/socket-changes.ts";
import { markedBaselines, proofsLike, sistersOf } from "../store/run-index/likes-of.ts";
import type { RunIndex } from "../store/run-index/open-index.ts";
import { resultsOf, runByName, runsOfUnit } from "../store/run-index/runs-of.ts";
import type { ResultRow, RunRow } from "../store/run-index/tables.ts";
import { placesOf, sectionsOf } from "../store/run-index/tube-rows.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { comparisonLines } from "./history/compare-lines.ts";
import { withFreshIndex } from "./history/fresh-index.ts";
import { statusOfFault } from "./history/status-of-fault.ts";
import { UsageError } from "./usage-error.ts";

export interface CompareOptions {
  readonly runs: string;
  /** Another run to hold it against, instead of all that is usual. */
  readonly with: string | null;
  readonly json: boolean;
}

/** Why a run is what another is held against. */
type Standing = "marked baseline" | "first pass" | "run before" | "run asked for";

export interface AgainstRun {
  readonly against: Standing;
  readonly earlier: RunRow;
  readonly levels: readonly LevelChange[];
  readonly sockets: readonly SocketChange[];
  readonly differences: readonly string[];
}

export interface Comparison {
  readonly now: RunRow;
  readonly runs: readonly AgainstRun[];
  readonly sisters: readonly AmongSisters[];
}

/**
 * @param name serial of a unit, for its newest closed proof, or a run
 * @returns 0, whatever changed; or what a fault of the index leaves behind
 * @throws UsageError
 */
export async function compareCommand(
  name: string,
  options: CompareOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  return statusOfFault(io, () =>
    withFreshIndex(options.runs, io, async (index) => {
      const comparison = await compared(index, await runMeant(index, name), options.with);
      const lines = options.json ? [JSON.stringify(comparison)] : comparisonLines(comparison);
      for (const line of lines) io.out(line);
      return EXIT.pass;
    }),
  );
}

async function compared(index: RunIndex, now: RunRow, asked: string | null): Promise<Comparison> {
  const standing = asked === null ? await usual(index, now) : [await askedFor(index, asked)];
  const sisters = asked === null ? await sistersOf(index, now) : [];
  const names = [now, ...standing.map(({ earlier }) => earlier), ...sisters].map(({ run }) => run);
  const results = byRun(await resultsOf(index, names));
  const own = results.get(now.run) ?? [];
  const runs: AgainstRun[] = [];
  for (const one of standing) runs.push(await against(index, now, { ...one, results }));
  return {
    now,
    runs,
    sisters: amongSisters(
      now.unit,
      levelsOf(own),
      sisterLevels(
        sisters.map(({ unit, run }) => ({ unit, levels: levelsOf(results.get(run) ?? []) })),
      ),
    ),
  };
}

interface Standard {
  readonly against: Standing;
  readonly earlier: RunRow;
}

async function against(
  index: RunIndex,
  now: RunRow,
  standard: Standard & { readonly results: ReadonlyMap<string, readonly ResultRow[]> },
): Promise<AgainstRun> {
  const { earlier, results } = standard;
  const levels = compareLevels(results.get(earlier.run) ?? [], results.get(now.run) ?? []);
  const places = await placesOf(index, [earlier.run, now.run]);
  const sockets = socketChanges(levels, {
    earlier: places.filter(({ run }) => run === earlier.run),
    now: places.filter(({ run }) => run === now.run),
    sections: await sectionsOf(index, [now.run]),
  });
  return {
    against: standard.against,
    earlier,
    levels,
    sockets,
    differences: differences(earlier, now),
  };
}

/** The baseline, and the run before, where that is another one. */
async function usual(index: RunIndex, now: RunRow): Promise<Standard[]> {
  const proofs = (await proofsLike(index, now)).filter(
    ({ run, openedMs }) => run !== now.run && openedMs <= now.openedMs,
  );
  const marked = await markedBaselines(index);
  const candidates = [...proofs, now];
  const chosen = marked.findLast((run) => candidates.some((one) => one.run === run));
  const baseline = candidates.find(({ run }) => run === chosen);
  const firstPass = proofs.findLast(({ verdict }) => verdict === "pass");
  const [before] = proofs;
  const standard: Standard[] =
    baseline !== undefined
      ? [{ against: "marked baseline", earlier: baseline }]
      : firstPass === undefined
        ? []
        : [{ against: "first pass", earlier: firstPass }];
  return [
    ...standard.filter(({ earlier: one }) => one.run !== now.run),
    ...(before === undefined || standard.some(({ earlier: one }) => one.run === before.run)
      ? []
      : [{ against: "run before" as const, earlier: before }]),
  ];
}

async function askedFor(index: RunIndex, name: string): Promise<Standard> {
  const earlier = await runByName(index, name);
  if (earlier === null)
    throw new UsageError(`Expected --with as a run, got "${name}": there is none.`);
  return { against: "run asked for", earlier };
}

async function runMeant(index: RunIndex, name: string): Promise<RunRow> {
  const run = await runByName(index, name);
  if (run !== null) return run;
  const runs = await runsOfUnit(index, name);
  const proof = runs.find(({ mode, seal }) => mode === "proof" && seal === "closed");
  if (proof !== undefined) return proof;
  throw new UsageError(
    runs.length === 0
      ? `Expected a unit or a run, got "${name}": there is neither. holdfast history lists both.`
      : `Expected a closed proof of ${name} to compare, it has none yet. Make one: holdfast prove --unit ${name}.`,
  );
}

function byRun(results: readonly ResultRow[]): Map<string, ResultRow[]> {
  const runs = new Map<string, ResultRow[]>();
  for (const result of results) {
    const own = runs.get(result.run) ?? [];
    own.push(result);
    runs.set(result.run, own);
  }
  return runs;
}
