/**
 * Hold proofs for what a board keeps: lines that enter a state and are let go, lines that flip it and are
 * let go, and which of the other lines may move meanwhile without disturbing it.
 */
import { evaluateWords } from "../../lanes/gate-words.ts";
import { type Circuit, pinsOf, takersOfNet } from "../../netlist/circuit.ts";
import type { LineValues } from "../walk-machine.ts";
import { type GoodPlace, type GoodWalk, keyOf, toggled } from "./good-walk.ts";

/** Lines driven and let go, and what then stays. */
interface HoldPulse {
  readonly enter: LineValues;
  readonly release: LineValues;
  /** At rest after the release. */
  readonly place: GoodPlace;
}

export interface HoldFound {
  /** Nets, by number, of the stages that hold each other. */
  readonly group: readonly number[];
  /** Steps from where the search began to where the hold begins. */
  readonly way: readonly LineValues[];
  readonly set: HoldPulse;
  readonly flip: HoldPulse;
  /** Lines, by number, that may move while either state is held. */
  readonly move: readonly number[];
  /** Nets, by number, that stay as they are wherever those lines move, in the one state and in the other. */
  readonly steady: readonly number[];
}

/** Places looked through for the best hold of one group. */
const PLACES_MOST = 200;
/** Lines moved at most in a hold, of the eight a file may name; loads move too. */
const MOVED_MOST = 4;

/**
 * Nets of stages that drive each other, group by group: two stages crossed over, or more where they share
 * one. Feedback without such a pair counts as one group.
 */
export function holdingGroups(circuit: Circuit): number[][] {
  const groups: Set<number>[] = [];
  for (const loop of circuit.loops) {
    const pairs = [...loop].flatMap((gate) => crossed(circuit, gate));
    for (const pair of pairs.length > 0 ? pairs : [[...loop]]) {
      const touching = groups.filter((group) => pair.some((gate) => group.has(gate)));
      const joined = new Set([...touching.flatMap((group) => [...group]), ...pair]);
      for (const group of touching) groups.splice(groups.indexOf(group), 1);
      groups.push(joined);
    }
  }
  return groups.map((gates) =>
    [...gates].map((gate) => circuit.gateOutput[gate] ?? -1).sort(byNumber),
  );
}

const byNumber = (a: number, b: number) => a - b;

function crossed(circuit: Circuit, gate: number): [number, number][] {
  const takers = (of: number) => takersOfNet(circuit, circuit.gateOutput[of] ?? -1);
  return [...takers(gate)]
    .filter((other) => other > gate && takers(other).includes(gate))
    .map((other) => [gate, other]);
}

/** The hold of a group that moves the most lines, of those near where the board now is; null without any. */
export function findHold(
  walk: GoodWalk,
  from: GoodPlace,
  group: readonly number[],
): HoldFound | null {
  let best: HoldFound | null = null;
  for (const { place, vectors } of walk.around(from, PLACES_MOST)) {
    for (const set of pulses(walk, place)) {
      for (const flip of pulses(walk, set.place)) {
        const hold = holdOf(walk, { group, way: vectors, from: place, set, flip });
        if (hold && (best === null || worth(hold) > worth(best))) best = hold;
      }
    }
  }
  return best;
}

/** Flips of the whole group first, then lines moved; a short way there decides between equals. */
function worth({ group, set, flip, move, way }: HoldFound): number {
  const flipped = group.filter((net) => set.place.values[net] !== flip.place.values[net]).length;
  const driven = changed(set.enter, flip.enter).length;
  return 100 * Math.min(2, flipped) + 10 * move.length - driven - way.length / 100;
}

/** One line there and back, with one other line, or none, set to its other level before. */
function pulses(walk: GoodWalk, from: GoodPlace): HoldPulse[] {
  const { lines } = from;
  if (lines === null) return [];
  const all = [...lines.keys()];
  return all.flatMap((line) =>
    [null, ...all.filter((other) => other !== line)].flatMap((other) => {
      const release = other === null ? lines : toggled(lines, other);
      const enter = toggled(release, line);
      const place = walk.steps(from, [enter, release]);
      return place === null ? [] : [{ enter, release, place }];
    }),
  );
}

function holdOf(
  walk: GoodWalk,
  trial: Pick<HoldFound, "group" | "way" | "set" | "flip"> & { readonly from: GoodPlace },
): HoldFound | null {
  const { group, way, from, set, flip } = trial;
  if (!keepsItself(walk, group, [set.place, flip.place])) return null;
  const pulsed = [set, flip].flatMap(({ enter, release }) => changed(enter, release));
  const idle = [...set.release.keys()].filter((line) => !pulsed.includes(line));
  const held = [set.place, flip.place];
  const free = idle.filter((line) => mayMove(walk, group, held, [line])).slice(0, MOVED_MOST);
  const move = mayMove(walk, group, held, free) ? free : free.slice(0, 1);
  // A line that ends at another level must be one that holds nothing by its level.
  const strayed = [from.lines ?? set.release, flip.release].flatMap((lines) =>
    changed(set.release, lines),
  );
  if (strayed.some((line) => !move.includes(line))) return null;
  if (!flipsFromAnywhere(walk, { set, flip, move })) return null;
  return { group, way, set, flip, move, steady: steadyNets(walk, held, move) };
}

/**
 * Whether the group has either state with nothing outside it changed: it is kept, and not driven by a stage
 * that itself keeps it, as a master that is open is by its slave.
 */
function keepsItself(
  { subject: { circuit } }: GoodWalk,
  group: readonly number[],
  [one, other]: readonly [GoodPlace, GoodPlace],
): boolean {
  if (
    !group.some(
      (net) => surely(one, net) && surely(other, net) && one.values[net] !== other.values[net],
    )
  )
    return false;
  const keeps = (around: GoodPlace, inside: GoodPlace) => {
    const at = (net: number) => (group.includes(net) ? inside : around).values[net] ?? 3;
    return group.every((net) => {
      const gate = circuit.driver[net] ?? -1;
      return gate >= 0 && gateValue(circuit, gate, at) === inside.values[net];
    });
  };
  return keeps(one, other) && keeps(other, one);
}

/** What a gate makes of these values: 1 low, 2 high, 3 unknown. */
function gateValue(circuit: Circuit, gate: number, at: (net: number) => number): number {
  const values = [...pinsOf(circuit, gate)].map(at);
  const pins = {
    low: Int32Array.from(values, (value) => value & 1),
    high: Int32Array.from(values, (value) => value >> 1),
  };
  evaluateWords(circuit.gateType[gate] ?? 0, pins, values.length);
  return (pins.low[0] ?? 1) | ((pins.high[0] ?? 1) << 1);
}

/** The lines that moved may stand anywhere when the flip comes. */
function flipsFromAnywhere(
  walk: GoodWalk,
  { set, flip, move }: Pick<HoldFound, "set" | "flip" | "move">,
): boolean {
  const target = keyOf(flip.place);
  return (
    wanderings(walk, set.place, move)?.every((place) => {
      const after = walk.steps(place, [flip.enter, flip.release]);
      return after !== null && keyOf(after) === target;
    }) === true
  );
}

function surely({ values }: GoodPlace, net: number): boolean {
  return values[net] !== 3;
}

function changed(one: LineValues, other: LineValues): number[] {
  return [...one.keys()].filter((line) => one[line] !== other[line]);
}

/** Whether the group stays as it is while these lines move, one after the other, in any order. */
function mayMove(
  walk: GoodWalk,
  group: readonly number[],
  held: readonly GoodPlace[],
  lines: readonly number[],
): boolean {
  return held.every((from) => {
    const seen = wanderings(walk, from, lines);
    return (
      seen?.every(({ values }) => group.every((net) => values[net] === from.values[net])) === true
    );
  });
}

/** Nets that keep their value under all those moves, in each of the states. */
function steadyNets(
  walk: GoodWalk,
  held: readonly GoodPlace[],
  lines: readonly number[],
): number[] {
  const nets = [...(held[0]?.values.keys() ?? [])];
  return nets.filter((net) =>
    held.every((from) =>
      wanderings(walk, from, lines)?.every(({ values }) => values[net] === from.values[net]),
    ),
  );
}

/**
 * Every place these lines lead to, moved one at a time; null where one move is not determined, or where the
 * lines back at their levels leave the board elsewhere than it was.
 */
function wanderings(walk: GoodWalk, from: GoodPlace, lines: readonly number[]): GoodPlace[] | null {
  const placeAt = new Map([[from.lines?.join(""), keyOf(from)]]);
  const queue = [from];
  for (const place of queue) {
    for (const line of lines) {
      const next = place.lines && walk.step(place, toggled(place.lines, line));
      if (next === null) return null;
      const known = placeAt.get(next.lines?.join(""));
      if (known !== undefined && known !== keyOf(next)) return null;
      if (known !== undefined) continue;
      placeAt.set(next.lines?.join(""), keyOf(next));
      queue.push(next);
    }
  }
  return queue;
}
