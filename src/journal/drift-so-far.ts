/** What a soak shows of drift as it stands: assessed once for each full set, however often it is asked for. */
import { assessDrift } from "../verdict/drift/assess-drift.ts";
import { chartLimits } from "../verdict/drift/chances.ts";
import { driftBoardOf } from "../verdict/drift/drift-feed.ts";
import type { DriftSet } from "../verdict/drift/drift-set.ts";
import type { DriftReport } from "../verdict/drift/report.ts";
import type { RunSnapshot } from "./snapshot.ts";
import type { SoakSnapshot } from "./soak-snapshot.ts";

const HOUR_MS = 3_600_000;
/** While rails are on an assessment must not hold up the beats that keep them on: a day of sets does not. */
const LIVE_SETS_MAX = 288;

interface Assessed {
  readonly report: DriftReport;
  readonly isClosed: boolean;
}

const assessed = new WeakMap<readonly DriftSet[], Assessed>();

/** Null for a run that is no soak, and before its first full set. */
export function driftSoFar({ soak, plan, verdict, opened }: RunSnapshot): DriftReport | null {
  if (soak === undefined || plan === null) return null;
  const { driftSets } = soak;
  const isClosed = verdict !== null;
  const plannedHours = isClosed ? null : hoursOrdered(soak);
  if (driftSets.length === 0) {
    // Reckoned before anything is switched on, as it takes longest; kept there for each set after it.
    if (plannedHours !== null) chartLimits(netsOf(soak), Math.ceil(plannedHours));
    return null;
  }
  const known = assessed.get(driftSets);
  if (known !== undefined && known.isClosed === isClosed) return known.report;
  const sets = isClosed ? driftSets : thinned(driftSets);
  const report = assessDrift(sets, driftBoardOf(plan, opened?.unitSheet), {
    plannedHours,
    history: soak.history,
  });
  assessed.set(driftSets, { report, isClosed });
  return report;
}

/** An hour more than ordered, for what comes before the first cycle and after the last. */
function hoursOrdered({ order, counts }: SoakSnapshot): number | null {
  const { forMs, cycles, everyMs } = order;
  if (forMs !== null) return Math.ceil(forMs / HOUR_MS) + 1;
  if (cycles === null) return null;
  const eachMs = everyMs > 0 ? everyMs : counts.cyclingMs / Math.max(1, counts.cycles);
  return eachMs === 0 ? null : Math.ceil((cycles * eachMs) / HOUR_MS) + 1;
}

function netsOf({ order }: SoakSnapshot): number {
  const lows = order.cycle.flatMap(({ expect }) =>
    Object.entries(expect).flatMap(([net, level]) => (level === "low" ? [net] : [])),
  );
  return new Set(lows).size;
}

/** Evenly, the newest among them. */
function thinned(sets: readonly DriftSet[]): readonly DriftSet[] {
  const each = Math.ceil(sets.length / LIVE_SETS_MAX);
  return each <= 1 ? sets : sets.filter((_, at) => (sets.length - 1 - at) % each === 0);
}
