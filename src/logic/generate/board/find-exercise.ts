/** Warm-up patterns under which every stage pulls its net low, whatever state the board came up in. */
import { smallCover } from "../cover.ts";
import type { LineValues } from "../walk-machine.ts";
import { firstVectors, type GoodPlace, type GoodWalk } from "./good-walk.ts";

interface ExercisePattern {
  readonly lines: LineValues;
  /** Nets, by number, to be seen low under it; none where it only shows the others cut off. */
  readonly low: readonly number[];
}

export interface Exercise {
  readonly patterns: readonly ExercisePattern[];
  /** Nets no pattern was found for. */
  readonly never: readonly number[];
}

/** Places looked through for a net that no single pattern pulls low. */
const PLACES_MOST = 2000;

/**
 * Few patterns that need no state: what they pull low is low from any state. Only where a net is pulled low
 * by none, steps that lead to a place where it is.
 *
 * @param nets to be pulled low, by number
 */
export function findExercise(
  walk: GoodWalk,
  nets: readonly number[],
  next: () => number,
): Exercise {
  const start = walk.powerUp();
  const places = firstVectors(walk.subject.lineCount, next)
    .map((lines) => walk.step(start, lines))
    .filter((place) => place !== null);
  // A stage is to be seen cut off as well, where that can be: both states are exercised.
  const rows = places.map((place) =>
    bits([1, 2].flatMap((value) => nets.map((net) => place.values[net] === value))),
  );
  const chosen = smallCover(rows, next).map((row) => places[row] as GoodPlace);
  const patterns: ExercisePattern[] = [];
  const pulled = new Set<number>();
  const append = (place: GoodPlace) => {
    // Each net in one pattern only: pulled by other inputs it is low at other volts, and never steady.
    const low = nets.filter((net) => place.values[net] === 1 && !pulled.has(net));
    for (const net of low) pulled.add(net);
    if (place.lines) patterns.push({ lines: place.lines, low });
  };
  for (const place of chosen) append(place);
  let at = chosen.reduce<GoodPlace | null>(
    (from, { lines }) => (from && lines ? walk.step(from, lines) : null),
    start,
  );
  for (const net of nets) {
    if (pulled.has(net) || at === null) continue;
    const path = nearest(walk, at, net);
    for (const lines of path ?? []) {
      at = at && walk.step(at, lines);
      if (at) append(at);
    }
  }
  return { patterns, never: nets.filter((net) => !pulled.has(net)) };
}

function nearest(walk: GoodWalk, from: GoodPlace, net: number): readonly LineValues[] | null {
  for (const { place, vectors } of walk.around(from, PLACES_MOST))
    if (place.values[net] === 1) return vectors;
  return null;
}

function bits(flags: readonly boolean[]): Int32Array {
  const row = new Int32Array(Math.ceil(flags.length / 32));
  for (const [at, flag] of flags.entries())
    if (flag) row[at >> 5] = (row[at >> 5] ?? 0) | (1 << (at & 31));
  return row;
}
