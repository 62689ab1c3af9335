/** What a soak looks like now: counts that are sealed, errors by kind, and how its legs ended. */
import type { CycleVolts, SetMoment, SoakCounts, SoakEvent, SoakOrder } from "../events/soak.ts";
import type { UnitHistory } from "../events/unit-history.ts";
import type { DriftSet } from "../verdict/drift/drift-set.ts";

/**
 * How the trade classes an error that was seen more than once in the same place, or not.
 * Transient: one time, right before and after. Intermittent: it came back. Steady: it stayed.
 */
export type ErrorClass = "transient" | "intermittent" | "steady";

/** All wrong cycles in which the same net was first off in the same step. */
export interface ErrorKind {
  readonly step: number;
  readonly net: string;
  readonly class: ErrorClass;
  /** Wrong cycles that were kept whole, and how many times they began anew. */
  readonly cycles: number;
  readonly times: number;
  /** Of the longest time, cycles on end. */
  readonly longest: number;
  /** On end now, and the newest of them. */
  readonly onEnd: number;
  readonly lastCycle: number;
  readonly first: ErrorMoment;
  readonly last: ErrorMoment;
}

interface ErrorMoment {
  readonly error: number;
  readonly cycle: number;
  readonly ms: number;
  readonly wall: string;
  readonly volts: number | null;
}

/** A wrong cycle, whole, to be looked at. */
export interface KeptError {
  readonly ms: number;
  /** The first of its net and step. */
  readonly isFirst: boolean;
  readonly event: Extract<SoakEvent, { kind: "cycle-error" }>;
  /** Null until they are there. */
  readonly after: readonly CycleVolts[] | null;
}

/** One time on power. */
export interface LegSnapshot {
  readonly leg: number;
  readonly why: Extract<SoakEvent, { kind: "leg-begun" }>["why"];
  readonly beganMs: number;
  readonly wall: string;
  readonly gapMs: number | null;
  readonly tornBytes: number;
  /** Null while it lasts, and for ever where nothing could be written any more. */
  readonly end: Pick<
    Extract<SoakEvent, { kind: "leg-ended" }>,
    "cause" | "detail" | "provedOff" | "brokeOffMoving"
  > | null;
  /** Why the bench could not be believed any more, where the soak went on after it by choice. */
  readonly doubts: readonly string[];
}

export interface SoakSnapshot {
  readonly order: SoakOrder;
  /** What earlier soaks of the unit taught of its levels; null for the first. */
  readonly history: UnitHistory | null;
  readonly counts: SoakCounts;
  readonly legs: readonly LegSnapshot[];
  /** Wrong cycles kept whole so far. */
  readonly kept: number;
  readonly kinds: readonly ErrorKind[];
  /** Oldest first: the first of each kind and the newest of all, bounded. */
  readonly errors: readonly KeptError[];
  /** Full sets of readings so far, and the moment of the newest. */
  readonly sets: number;
  readonly newestSet: { readonly ms: number; readonly moment: SetMoment } | null;
  /** What drift is judged from, oldest first; beyond a week of them every second of the older half. */
  readonly driftSets: readonly DriftSet[];
  /** Tallies so far. */
  readonly tallies: number;
  readonly clockStepsMs: readonly number[];
}

export const NO_COUNTS: SoakCounts = {
  cycles: 0,
  wrong: 0,
  unjudged: 0,
  notKept: 0,
  powerCycles: 0,
  boardMs: 0,
  heaterMs: 0,
  cyclingMs: 0,
  closings: {},
  repeats: 0,
};

/** Whether the stopping rule has been met by what is counted: its time, or its count. */
export function isSoakComplete({ order, counts }: Pick<SoakSnapshot, "order" | "counts">): boolean {
  return (
    (order.forMs !== null && counts.cyclingMs >= order.forMs) ||
    (order.cycles !== null && counts.cycles >= order.cycles)
  );
}
