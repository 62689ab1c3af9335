/**
 * What the levels of a board do together beyond what their rails, reference and temperature explain: how
 * much wider than chance their hours scatter, and how much of that they share.
 */
import { median } from "../../measure/statistics/median.ts";
import { type LevelFit, sizeAlong } from "./fit-level.ts";
import { inBlocks } from "./in-blocks.ts";
import { lineOrStep } from "./line-or-step.ts";

export interface SharedMotion {
  /** Standard deviation of an hour in units of what single sets say of it; 1 or more. */
  readonly widening: number;
  /** Correlation between any two levels, 0 to below 1. */
  readonly correlation: number;
}

/** Blocks in which slow disturbance shows, hours. */
const BLOCK_HOURS = 0.5;
/** Fewer blocks than this tell nothing of it. */
const BLOCKS_MIN = 6;
const CORRELATION_MAX = 0.95;
/** Correlation this far from none counts. Standard deviations. */
const CHANCE_SD = 3;
/** A level whose line is beyond this has moved. */
const MOVED_SD = 4;

/** @param fits levels of one class */
export function sharedMotion(fits: readonly LevelFit[]): SharedMotion {
  const all = fits.map((fit) => new Map(blocksOf(fit).map(({ index, u }) => [index, u])));
  let [squares, count] = [0, 0];
  for (const blocks of all) {
    for (const u of blocks.values()) squares += u * u;
    // What a fit follows is gone from its blocks: one for the line, one for the level.
    count += Math.max(0, blocks.size - 2);
  }
  const variance = count < BLOCKS_MIN ? 1 : squares / count;
  let [products, pairs] = [0, 0];
  for (const [at, blocks] of all.entries()) {
    for (const other of all.slice(at + 1)) {
      for (const [index, u] of blocks) {
        const beside = other.get(index);
        if (beside === undefined) continue;
        products += u * beside;
        pairs += 1;
      }
    }
  }
  const found = pairs < BLOCKS_MIN ? 0 : products / pairs / variance;
  // What chance alone does to either estimate is not taken for the night's.
  const correlation = found * Math.sqrt(pairs) < CHANCE_SD ? 0 : Math.min(CORRELATION_MAX, found);
  const beyondChance = variance / (1 + Math.sqrt(2 / Math.max(1, count)));
  return { widening: Math.sqrt(Math.max(1, beyondChance)), correlation };
}

/** What moves alone is no disturbance: a line is taken out, or a step that explains the level better. */
function blocksOf(fit: LevelFit) {
  const along = sizeAlong(fit.innovations, fit.lineLeft);
  const moved = Math.abs(along.size) > MOVED_SD * along.sd ? lineOrStep(fit) : null;
  const shapeLeft = moved?.shape === "step" ? moved.left : fit.lineLeft;
  const { size } = sizeAlong(fit.innovations, shapeLeft);
  const rest = fit.innovations.slice();
  for (let row = 0; row < rest.length; row += 1) {
    rest[row] = (rest[row] as number) - size * (shapeLeft[row] as number);
  }
  return inBlocks(fit, rest, BLOCK_HOURS);
}

/**
 * The best guess of what one level shares with the others, and what is then left of its own variance.
 *
 * @param own    standardised
 * @param others the same of the other levels; their median counts, so that one that moves alone does not
 */
export function withoutShared(
  own: number,
  others: readonly number[],
  { correlation }: SharedMotion,
): number {
  const count = others.length;
  if (count === 0 || correlation === 0) return own;
  const weight = (count * correlation) / (1 + (count - 1) * correlation);
  return (own - weight * median(others)) / Math.sqrt(1 - weight * correlation);
}
