/** Which values the lines may be given next. */
import type { LineValues } from "./walk-machine.ts";

/** Up to so many lines, any of them may move in one step. */
const ANY_LINES_MOST = 5;
/** Beyond, at most so many at once: one drives, one comes along. */
const LINES_TOGETHER = 2;
/** First steps tried where there are too many lines to try every vector. */
const FIRST_STEPS = 256;

/** Whether every change of lines is among the moves, so that a search that ends has tried everything. */
export function movesAreAll(lineCount: number): boolean {
  return lineCount <= ANY_LINES_MOST;
}

/**
 * Vectors one step may lead to, fewest moving lines first.
 *
 * @param from where the lines are; null at power-up, when a vector may be anything
 * @param stay whether no line moving is a step as well, as it is with a clock
 */
export function movesFrom(
  from: LineValues | null,
  options: { lineCount: number; stay: boolean; next: () => number },
): LineValues[] {
  const { lineCount, stay, next } = options;
  if (from === null) return firstVectors(lineCount, next);
  const together = movesAreAll(lineCount) ? lineCount : LINES_TOGETHER;
  const moves: LineValues[] = stay ? [from.slice()] : [];
  for (let moving = 1; moving <= together; moving++)
    for (const lines of choices(lineCount, moving)) {
      const vector = from.slice();
      for (const line of lines) vector[line] = 3 - (vector[line] as number);
      moves.push(vector);
    }
  return moves;
}

function firstVectors(lineCount: number, next: () => number): LineValues[] {
  if (2 ** lineCount <= FIRST_STEPS)
    return Array.from({ length: 2 ** lineCount }, (_, bits) =>
      Uint8Array.from({ length: lineCount }, (__, line) => ((bits >> line) & 1) + 1),
    );
  const some = Array.from({ length: FIRST_STEPS }, () =>
    Uint8Array.from({ length: lineCount }, () => (next() < 0.5 ? 1 : 2)),
  );
  return [new Uint8Array(lineCount).fill(1), new Uint8Array(lineCount).fill(2), ...some];
}

/** Every way to choose `count` of the numbers below `of`. */
function choices(of: number, count: number, from = 0): number[][] {
  if (count === 0) return [[]];
  const all: number[][] = [];
  for (let first = from; first <= of - count; first++)
    for (const rest of choices(of, count - 1, first + 1)) all.push([first, ...rest]);
  return all;
}
