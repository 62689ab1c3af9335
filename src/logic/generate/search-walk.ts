/**
 * The search for few steps that find many faults: from each place the most promising of those reached are
 * gone on from, all equally many steps away from the start. Promising is, in this order, what leaves the
 * fewest nets unknown, has found the most faults, and has the most further faults astir inside.
 */

import type { LaneState } from "../lanes/lanes.ts";
import { wordBits } from "./cover.ts";
import { movesFrom } from "./moves.ts";
import { type LineValues, surveyState, type WalkMachine } from "./walk-machine.ts";

/** A place of a walk: where every lane is, and what was found on the way. */
export interface WalkPlace {
  readonly state: LaneState;
  /** Null at power-up. */
  readonly lines: LineValues | null;
  readonly before: WalkPlace | null;
  /** Lanes found so far, as bits. */
  readonly found: Int32Array;
  readonly foundCount: number;
  readonly steps: number;
}

export interface SearchLimits {
  /** Places gone on from at each distance. */
  readonly width: number;
  /** End when so many faults are found. */
  readonly target: number;
  /** Steps from the start at most. */
  readonly stepsMost: number;
  /** End when so many steps in a row have found nothing more. */
  readonly patience: number;
  /** Steps tried in all, kept or not, at most. */
  readonly triesMost: number;
}

export interface SearchResult {
  /** The best places, all of equally many faults, nearest first: one, or those that reached the target. */
  readonly best: readonly WalkPlace[];
  readonly tries: number;
}

export function startPlace(machine: WalkMachine): WalkPlace {
  machine.lanes.powerUp();
  return {
    state: machine.lanes.save(),
    lines: null,
    before: null,
    found: new Int32Array(machine.lanes.wordCount),
    foundCount: 0,
    steps: 0,
  };
}

/** The vectors that lead to a place, first step first. */
export function walkTo(place: WalkPlace): LineValues[] {
  const vectors: LineValues[] = [];
  for (let at: WalkPlace | null = place; at?.lines; at = at.before) vectors.unshift(at.lines);
  return vectors;
}

interface Candidate extends WalkPlace {
  readonly known: number;
  readonly offCount: number;
  readonly tie: number;
}

export function searchWalk(
  machine: WalkMachine,
  start: WalkPlace,
  { width, target, stepsMost, patience, triesMost }: SearchLimits,
  next: () => number,
): SearchResult {
  const visited = new Set<string>();
  let front: WalkPlace[] = [start];
  let best = start;
  let tries = 0;
  let idle = 0;
  for (let steps = 0; steps < stepsMost && idle < patience && front.length > 0; steps++) {
    const reached: Candidate[] = [];
    for (const place of front) {
      const moves = movesOf(machine, place, next);
      tries += moves.length;
      for (const lines of moves) {
        const candidate = tryStep(machine, {
          place,
          lines,
          visited,
          tie: movedLines(place.lines, lines) + next(),
        });
        if (candidate) reached.push(candidate);
      }
    }
    reached.sort(
      (a, b) =>
        b.known - a.known ||
        b.foundCount - a.foundCount ||
        b.offCount - a.offCount ||
        a.tie - b.tie,
    );
    front = reached.slice(0, width);
    const [first] = front;
    const farthest = front.reduce(
      (one, other) => (other.foundCount > one.foundCount ? other : one),
      best,
    );
    idle = farthest.foundCount > best.foundCount ? 0 : idle + 1;
    best = farthest;
    if (best.foundCount >= target)
      return { best: reached.filter(({ foundCount }) => foundCount >= target), tries };
    if (first === undefined || tries > triesMost) break;
  }
  return { best: [best], tries };
}

function movesOf(machine: WalkMachine, place: WalkPlace, next: () => number): LineValues[] {
  const { lineCount } = machine.subject;
  return movesFrom(place.lines, { lineCount, stay: machine.isClocked, next });
}

/** Of two steps that promise the same, the one that moves fewer lines. */
function movedLines(from: LineValues | null, to: LineValues): number {
  return from === null ? 0 : to.filter((value, line) => value !== from[line]).length;
}

/** Where a step leads, or null when it is no step of a test or leads where one has been. */
function tryStep(
  machine: WalkMachine,
  step: { place: WalkPlace; lines: LineValues; visited: Set<string>; tie: number },
): Candidate | null {
  const { place, lines, visited, tie } = step;
  const next = stepFrom(machine, place, lines);
  if (next === null) return null;
  const counts = next.found.map((word) => ~word);
  const survey = surveyState(next.state, machine.subject.circuit.nets.length, counts);
  if (visited.has(survey.key)) return null;
  visited.add(survey.key);
  return { ...next, known: machine.knownCount(), offCount: survey.offCount, tie };
}

/** Take one step from a place; null when it is not determined. The machine is left there. */
export function stepFrom(
  machine: WalkMachine,
  place: WalkPlace,
  lines: LineValues,
): WalkPlace | null {
  machine.lanes.restore(place.state);
  const { determined, reading } = machine.take(lines);
  if (!determined) return null;
  const found = place.found.map(
    (word, at) =>
      word |
      (reading.detected[at] as number) |
      ((reading.possible[at] as number) & (machine.unsure[at] as number)),
  );
  const foundCount = found.reduce((sum, word) => sum + wordBits(word), 0);
  return {
    state: machine.lanes.save(),
    lines,
    before: place,
    found,
    foundCount,
    steps: place.steps + 1,
  };
}
