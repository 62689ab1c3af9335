/** A walk without the steps that it can do without. */
import { startPlace, stepFrom, type WalkPlace } from "./search-walk.ts";
import type { LineValues, WalkMachine } from "./walk-machine.ts";

/** Every place of a walk, power-up first; null where one of its steps is not determined. */
export function placesOf(
  machine: WalkMachine,
  vectors: readonly LineValues[],
  from: WalkPlace = startPlace(machine),
): WalkPlace[] | null {
  const places = [from];
  for (const vector of vectors) {
    const last = places.at(-1) as WalkPlace;
    if (!machine.isClocked && last.lines && same(last.lines, vector)) continue;
    const place = stepFrom(machine, last, vector);
    if (place === null) return null;
    places.push(place);
  }
  return places;
}

/**
 * Leave out runs of steps, long ones first, as long as the rest is determined and finds as many faults.
 *
 * @param triesMost steps taken at most on trial
 */
export function shortenWalk(
  machine: WalkMachine,
  vectors: readonly LineValues[],
  triesMost: number,
): LineValues[] {
  const whole = placesOf(machine, vectors);
  if (whole === null) throw new Error("the walk to be shortened has a step that is not determined");
  let places: readonly WalkPlace[] = whole;
  const target = foundBy(places);
  let tries = 0;
  for (let run = Math.ceil(vectors.length / 2); run >= 1; run = Math.floor(run / 2)) {
    for (let from = places.length - 1 - run; from >= 0 && tries < triesMost; from--) {
      const rest = linesOf(places.slice(from + 1 + run));
      tries += rest.length;
      const tail = placesOf(machine, rest, places[from]);
      if (tail && foundBy(tail) === target) {
        places = [...places.slice(0, from), ...tail];
        from = Math.min(from, places.length - run);
      }
    }
  }
  return linesOf(places);
}

/**
 * Let lines stand that move there and back for nothing.
 *
 * @param triesMost steps taken at most on trial
 */
export function calmWalk(
  machine: WalkMachine,
  vectors: readonly LineValues[],
  triesMost: number,
): LineValues[] {
  let calm: LineValues[] = vectors.map((vector) => vector.slice());
  const target = foundBy(placesOf(machine, calm) ?? []);
  let tries = 0;
  for (let step = 1; step < calm.length; step++) {
    for (let line = 0; line < (calm[0]?.length ?? 0) && tries < triesMost; line++) {
      if (calm[step]?.[line] === calm[step - 1]?.[line]) continue;
      const trial = withLineStill(calm, line, step);
      tries += trial.length;
      const places = placesOf(machine, trial);
      if (places && places.length === calm.length + 1 && foundBy(places) === target) calm = trial;
    }
  }
  return calm;
}

/** The line stays as it was before this step until it would move again. */
function withLineStill(vectors: readonly LineValues[], line: number, step: number): LineValues[] {
  const still = vectors[step - 1]?.[line] ?? 1;
  const next = vectors.findIndex((vector, at) => at > step && vector[line] === still);
  return vectors.map((vector, at) => {
    if (at < step || (next !== -1 && at >= next)) return vector;
    const held = vector.slice();
    held[line] = still;
    return held;
  });
}

function linesOf(places: readonly WalkPlace[]): LineValues[] {
  return places.flatMap(({ lines }) => (lines ? [lines] : []));
}

function foundBy(places: readonly WalkPlace[]): number {
  return places.at(-1)?.foundCount ?? 0;
}

function same(one: LineValues, other: LineValues): boolean {
  return one.every((value, line) => value === other[line]);
}
