/** Two lines that may go at once: a place where the board must end alike in whichever order they go. */

import type { LineValues } from "../walk-machine.ts";
import { type GoodPlace, type GoodWalk, keyOf, toggled } from "./good-walk.ts";

export interface OrdersFound {
  readonly lines: readonly [number, number];
  /** Steps from where the search began to where both orders begin. */
  readonly way: readonly LineValues[];
  readonly start: GoodPlace;
  /** After the first line alone, and after the second alone. */
  readonly firstAlone: GoodPlace;
  readonly secondAlone: GoodPlace;
  /** After both, in either order or at once. */
  readonly both: GoodPlace;
  /** Steps from there to the start, one line at a time: both back at once may race where both forth did not. */
  readonly back: readonly LineValues[];
}

/** Places looked through for a pair of lines. */
const PLACES_MOST = 200;
const BACK_PLACES_MOST = 100;

/**
 * For each pair of lines the nearest place where the order changes what happens on the way, not where it
 * ends, and to which single lines lead back; a pair without such a place is left out.
 *
 * @param lines that can be driven in one write, by number
 */
export function findOrders(
  walk: GoodWalk,
  from: GoodPlace,
  lines: readonly number[],
): OrdersFound[] {
  return lines.flatMap((one, index) =>
    lines.slice(index + 1).flatMap((two) => ordersOf(walk, from, [one, two]) ?? []),
  );
}

function ordersOf(
  walk: GoodWalk,
  from: GoodPlace,
  [one, two]: readonly [number, number],
): OrdersFound | null {
  for (const { place: start, vectors: way } of walk.around(from, PLACES_MOST)) {
    if (start.lines === null) continue;
    const ends = toggled(start.lines, one, two);
    const both = walk.step(start, ends);
    const firstAlone = walk.step(start, toggled(start.lines, one));
    const secondAlone = walk.step(start, toggled(start.lines, two));
    if (both === null || firstAlone === null || secondAlone === null) continue;
    const ways = [walk.step(firstAlone, ends), walk.step(secondAlone, ends)];
    if (ways.some((place) => place === null || keyOf(place) !== keyOf(both))) continue;
    if (sameNets(firstAlone, both) || sameNets(secondAlone, both)) continue;
    const back = wayBack(walk, both, start);
    if (back) return { lines: [one, two], way, start, firstAlone, secondAlone, both, back };
  }
  return null;
}

function wayBack(walk: GoodWalk, from: GoodPlace, start: GoodPlace): readonly LineValues[] | null {
  for (const { place, vectors } of walk.around(from, BACK_PLACES_MOST))
    if (keyOf(place) === keyOf(start)) return vectors;
  return null;
}

/** Whether only lines differ: the gates' nets stand last, after the inputs. */
function sameNets(one: GoodPlace, other: GoodPlace): boolean {
  const inputCount = one.lines?.length ?? 0;
  return one.values.every((value, net) => net < inputCount || value === other.values[net]);
}
