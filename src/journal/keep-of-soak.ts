/** What is kept whole of a soak, bounded however long it lasts. */
import type { SoakEvent } from "../events/soak.ts";
import { driftSetOf } from "../verdict/drift/drift-feed.ts";
import type { DriftSet } from "../verdict/drift/drift-set.ts";
import type { KeptError, SoakSnapshot } from "./soak-snapshot.ts";

/** A person looks at the first of each kind and at the newest; the journal has them all. */
const FIRSTS_MAX = 40;
const NEWEST_MAX = 20;
/** A week of sets every five minutes. */
const SETS_MAX = 2016;
const HOUR_MS = 3_600_000;

export function withError(
  errors: readonly KeptError[],
  error: Omit<KeptError, "after">,
): readonly KeptError[] {
  const firsts = errors.filter(({ isFirst }) => isFirst).length;
  const isFirst = error.isFirst && firsts < FIRSTS_MAX;
  const kept = [...errors, { ...error, isFirst, after: null }];
  const others = kept.filter((one) => !one.isFirst);
  return others.length <= NEWEST_MAX ? kept : kept.filter((one) => one !== others[0]);
}

export function withAfter(
  errors: readonly KeptError[],
  { error, after }: Extract<SoakEvent, { kind: "cycle-error-after" }>,
): readonly KeptError[] {
  return errors.map((one) => (one.event.error === error ? { ...one, after } : one));
}

export function withDriftSet(
  { driftSets, legs }: SoakSnapshot,
  event: Extract<SoakEvent, { kind: "soak-readings" }>,
): readonly DriftSet[] {
  const leg = legs.at(-1)?.leg ?? 1;
  const before = driftSets.findLast((one) => one.leg < leg)?.onHours ?? 0;
  const sets = [...driftSets, driftSetOf(event, leg, before * HOUR_MS)];
  if (sets.length <= SETS_MAX) return sets;
  const half = SETS_MAX / 2;
  return sets.filter((_, at) => at >= half || at % 2 === 0 || isOfHeatersLow(sets, at));
}

/** Such a set is taken twice a run and says something only beside the one that follows it. */
function isOfHeatersLow(sets: readonly DriftSet[], at: number): boolean {
  return sets[at]?.moment === "heater low" || sets[at - 1]?.moment === "heater low";
}
