/** The watch that a builder would write first: an alarm when a low level stands so far above where it began. */
import type { DriftBoard, DriftSet } from "../../../src/verdict/drift/drift-set.ts";
import { levelSeries } from "../../../src/verdict/drift/level-series.ts";

const WARM_HOURS = 0.5;
const BASELINE_HOURS = 2;

/** By section: the most that an hour's mean stood above the mean of the first two hours, volts. */
export function plainRises(
  sets: readonly DriftSet[],
  { stages }: DriftBoard,
): Record<string, number> {
  const warm = sets.filter(({ onHours }) => onHours >= WARM_HOURS);
  const rises: Record<string, number> = {};
  for (const { net, class: level, volts } of levelSeries(warm)) {
    const section = stages.find(({ output }) => output === net)?.section;
    if (level !== "low" || section === undefined) continue;
    const within = (from: number, to: number) =>
      meanOf(
        [...volts].filter((_, at) => {
          const hour = warm[at]?.onHours ?? Number.NaN;
          return hour >= from && hour < to;
        }),
      );
    const begunV = within(WARM_HOURS, WARM_HOURS + BASELINE_HOURS);
    const last = Math.floor(warm.at(-1)?.onHours ?? 0);
    const hours = Array.from({ length: last }, (_, at) => within(at, at + 1));
    rises[section] = Math.max(...hours.filter(Number.isFinite).map((one) => one - begunV));
  }
  return rises;
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, one) => sum + one, 0) / values.length;
}
