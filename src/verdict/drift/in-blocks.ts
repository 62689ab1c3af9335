/** Sets gathered by the clock: one value for each hour, or part of one. */
import type { LevelFit } from "./fit-level.ts";

export interface Block {
  /** Counts from 0, in blocks of time on since the run began. */
  readonly index: number;
  /** In units of one set's noise by the root of their number: standard normal where nothing drifts. */
  readonly u: number;
  readonly sets: number;
}

/**
 * @param values by set, such as innovations
 * @param hours  length of a block
 */
export function inBlocks(
  { hours: when }: Pick<LevelFit, "hours">,
  values: Float64Array,
  hours: number,
): Block[] {
  const blocks = new Map<number, { sum: number; sets: number }>();
  for (let row = 0; row < values.length; row += 1) {
    const index = Math.floor((when[row] as number) / hours);
    let block = blocks.get(index);
    if (block === undefined) {
      block = { sum: 0, sets: 0 };
      blocks.set(index, block);
    }
    block.sum += values[row] as number;
    block.sets += 1;
  }
  return [...blocks].map(([index, { sum, sets }]) => ({ index, u: sum / Math.sqrt(sets), sets }));
}
