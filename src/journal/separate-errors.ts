/** How many times a soak went wrong that have nothing to do with each other: wrong cycles on end are one. */
import type { SoakSnapshot } from "./soak-snapshot.ts";

/**
 * Wrong cycles that were only counted are one each, which errs to the safe side of every claim.
 *
 * @param net errors first seen on this net alone; then those only counted are left out, for their net is
 *   not known
 * @returns no more than there were cycles
 */
export function separateErrors({ counts, kinds, kept }: SoakSnapshot, net?: string): number {
  const times = kinds
    .filter((kind) => net === undefined || kind.net === net)
    .reduce((sum, kind) => sum + kind.times, 0);
  const counted = net === undefined ? Math.max(0, counts.wrong - kept) : 0;
  return Math.min(counts.cycles, times + counted);
}
