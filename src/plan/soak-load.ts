/** What a soak asks of bench and disk, before it begins. Pure. */
import type { SoakOrder } from "../events/soak.ts";

/** Bytes an hour that a journal of a soak has at most: tallies, looks at rails, sets, 200 errors a kind. */
const JOURNAL_BYTES_PER_HOUR = 4 * 1024 * 1024;
/** Closings that a small signal relay makes with next to no load (common practice). */
export const RELAY_CLOSINGS_LIFE = 10_000_000;

const HOUR_MS = 3_600_000;

export interface SoakLoad {
  /** Longest time on power, ms: by time, or by count at its pace. */
  readonly longestMs: number;
  readonly cycles: number;
  /** Closings of each line's relay in all that time. */
  readonly closings: Readonly<Record<string, number>>;
  readonly journalBytes: number;
}

/** @param releasedHigh lines whose relay is released at high */
export function soakLoad(
  order: SoakOrder,
  cycleMs: number,
  releasedHigh: ReadonlySet<string>,
): SoakLoad {
  const paceMs = Math.max(order.everyMs, cycleMs);
  const byTime = order.forMs ?? Number.POSITIVE_INFINITY;
  const byCount = order.cycles === null ? Number.POSITIVE_INFINITY : order.cycles * paceMs;
  const longestMs = Math.min(byTime, byCount);
  const cycles = Math.floor(longestMs / paceMs);
  const perCycle = closingsInCycle(order, releasedHigh);
  return {
    longestMs,
    cycles,
    closings: Object.fromEntries(perCycle.map(([line, count]) => [line, count * cycles])),
    journalBytes: Math.ceil((longestMs / HOUR_MS) * JOURNAL_BYTES_PER_HOUR),
  };
}

/** The cycle closes on itself, so a line begins it as it ends it. */
function closingsInCycle(
  { cycle }: SoakOrder,
  releasedHigh: ReadonlySet<string>,
): [line: string, count: number][] {
  const lines = [...new Set(cycle.flatMap(({ set }) => Object.keys(set)))];
  return lines.map((line) => {
    const released = releasedHigh.has(line) ? "high" : "low";
    const levels = cycle.flatMap(({ set }) => set[line] ?? []);
    const closes = (level: string, at: number) =>
      level !== released && (levels[at - 1] ?? levels.at(-1)) !== level;
    return [line, levels.filter(closes).length];
  });
}
