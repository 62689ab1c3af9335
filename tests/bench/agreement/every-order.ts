/**
 * Everything that a small board can do in a step, whatever its gates and wires take: from every state any
 * follower that is not yet what it is to be may become so. Written for this comparison alone.
 */
import type { Netlist } from "../../../src/logic/netlist/netlist.ts";
import { followersOf, levelOf } from "./delays.ts";

/** Levels of all places, inputs first, as a word of bits. */
export type State = number;

export interface EveryOrder {
  /** States on the way, and those that a board can be in after any time however long. */
  readonly onTheWay: ReadonlySet<State>;
  readonly late: ReadonlySet<State>;
}

/** States visited after which a board is given up as too large. */
const STATES_MAX = 20_000;

/** States of a board whose inputs and gates have these levels and whose wires have followed. */
export function stateOf(netlist: Netlist, levels: readonly boolean[]): State {
  const { followers, placeCount } = followersOf(netlist, () => 0);
  let state = 0;
  for (let place = 0; place < placeCount; place++) {
    const net = place < levels.length ? place : (followers.get(place)?.sources[0] ?? -1);
    if (levels[net]) state |= 1 << place;
  }
  return state;
}

/** @returns null when there are too many states */
export function everyOrder(
  netlist: Netlist,
  starts: Iterable<State>,
  lines: readonly boolean[],
): EveryOrder | null {
  const { followers, placeCount } = followersOf(netlist, () => 0);
  if (placeCount > 30) return null;
  const wanting = (state: State): number[] =>
    [...followers].flatMap(([place, { type, sources }]) => {
      const pins = sources.map((one) => (state & (1 << one)) !== 0);
      return levelOf(type, pins) === ((state & (1 << place)) !== 0) ? [] : [place];
    });
  const moved = (state: State) =>
    lines.reduce(
      (bits, level, place) => (level ? bits | (1 << place) : bits & ~(1 << place)),
      state,
    );
  const next = new Map<State, number[]>();
  const waiting = [...starts].map(moved);
  for (let state = waiting.pop(); state !== undefined; state = waiting.pop()) {
    if (next.has(state)) continue;
    if (next.size >= STATES_MAX) return null;
    const movers = wanting(state);
    next.set(state, movers);
    for (const place of movers) waiting.push(state ^ (1 << place));
  }
  return { onTheWay: new Set(next.keys()), late: lateStates(next) };
}

/** States a board can be in for ever: at rest, or on a round that no follower waits out in vain. */
function lateStates(next: ReadonlyMap<State, readonly number[]>): Set<State> {
  const late = new Set<State>();
  for (const round of rounds(next)) {
    const [first = 0] = round;
    let changes = 0;
    for (const state of round) changes |= state ^ first;
    const waitsInVain = (next.get(first) ?? []).some(
      (place) =>
        (changes & (1 << place)) === 0 && round.every((state) => next.get(state)?.includes(place)),
    );
    if (!waitsInVain) for (const state of round) late.add(state);
  }
  return late;
}

/**
 * States that can all reach each other, group by group: forwards by finishing time, then backwards.
 *
 * @source the method of S. R. Kosaraju and M. Sharir, 1981 (from memory)
 */
function rounds(next: ReadonlyMap<State, readonly number[]>): State[][] {
  const finished: State[] = [];
  const seen = new Set<State>();
  const before = new Map<State, State[]>();
  for (const [root] of next) {
    const path: { state: State; at: number }[] = seen.has(root) ? [] : [{ state: root, at: 0 }];
    seen.add(root);
    for (let top = path.at(-1); top; top = path.at(-1)) {
      const place = next.get(top.state)?.[top.at];
      top.at += 1;
      if (place === undefined) {
        finished.push(top.state);
        path.pop();
        continue;
      }
      const target = top.state ^ (1 << place);
      const sources = before.get(target);
      if (sources) sources.push(top.state);
      else before.set(target, [top.state]);
      if (!seen.has(target)) {
        seen.add(target);
        path.push({ state: target, at: 0 });
      }
    }
  }
  const taken = new Set<State>();
  const groups: State[][] = [];
  for (const root of finished.toReversed()) {
    if (taken.has(root)) continue;
    const group = [root];
    taken.add(root);
    for (const state of group) {
      for (const source of before.get(state) ?? []) {
        if (taken.has(source)) continue;
        taken.add(source);
        group.push(source);
      }
    }
    groups.push(group);
  }
  return groups;
}
