/** What counts: a line, or two in turn, whose pulses lead the board round and back to where it was. */
import type { LineValues } from "../walk-machine.ts";
import { type GoodPlace, type GoodWalk, keyOf, toggled } from "./good-walk.ts";

export interface CountFound {
  /** Lines pulsed, by number: one, or two in turn. */
  readonly lines: readonly number[];
  /** Steps from where the search began to where the count begins. */
  readonly way: readonly LineValues[];
  /** Where the board is at first and after the last pulse. */
  readonly start: GoodPlace;
  /** Places of one period after the other: after each move of a line. */
  readonly periods: readonly (readonly GoodPlace[])[];
}

/** Places looked through for one to count from. */
const PLACES_MOST = 60;
/** Longest count followed to its end. */
const PERIODS_MOST = 256;

/** The longest count there is near where the board now is; null where nothing counts to two or more. */
export function findCount(walk: GoodWalk, from: GoodPlace): CountFound | null {
  const { lineCount } = walk.subject;
  const singles = Array.from({ length: lineCount }, (_, line) => [line]);
  const pairs = singles.flatMap(([one = 0]) =>
    Array.from({ length: lineCount }, (_, two) => [one, two]).filter(([, two]) => two !== one),
  );
  for (const pulsed of [singles, pairs]) {
    let best: CountFound | null = null;
    for (const { place, vectors } of walk.around(from, PLACES_MOST))
      for (const lines of pulsed) {
        const periods = periodsOf(walk, place, lines);
        if (periods.length >= 2 && periods.length > (best?.periods.length ?? 0))
          best = { lines, way: vectors, start: place, periods };
      }
    if (best) return best;
  }
  return null;
}

/** Periods until the board is where it was; none where a step is not determined or it never comes back. */
function periodsOf(walk: GoodWalk, start: GoodPlace, lines: readonly number[]): GoodPlace[][] {
  const periods: GoodPlace[][] = [];
  let place = start;
  while (periods.length < PERIODS_MOST) {
    const period: GoodPlace[] = [];
    for (const line of lines.flatMap((one) => [one, one])) {
      const next = place.lines && walk.step(place, toggled(place.lines, line));
      if (next === null) return [];
      period.push(next);
      place = next;
    }
    periods.push(period);
    if (keyOf(place) === keyOf(start)) return periods;
  }
  return [];
}
