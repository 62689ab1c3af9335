/** The faultless board on its own: where a step leads, and the ways to a place. */

import type { LaneState } from "../../lanes/lanes.ts";
import { movesFrom } from "../moves.ts";
import { type LineValues, WalkMachine, type WalkSubject } from "../walk-machine.ts";

/** Lines and nets at rest. */
export interface GoodPlace {
  readonly state: LaneState;
  /** Null at power-up. */
  readonly lines: LineValues | null;
  /** By net number: 1 low, 2 high, 3 unknown. */
  readonly values: Uint8Array;
}

/** Steps remembered; a search over places takes the same ones again and again. */
const KEPT_MOST = 50_000;

export class GoodWalk {
  readonly subject: WalkSubject;
  readonly #machine: WalkMachine;
  readonly #kept = new Map<string, GoodPlace | null>();

  constructor(subject: WalkSubject) {
    this.subject = subject;
    this.#machine = new WalkMachine(subject, []);
  }

  powerUp(): GoodPlace {
    this.#machine.lanes.powerUp();
    return this.#here(null);
  }

  /** Where these values of the lines lead, or null when that is not determined. */
  step(from: GoodPlace, lines: LineValues): GoodPlace | null {
    const key = `${keyOf(from)} ${lines.join("")}`;
    const kept = this.#kept.get(key);
    if (kept !== undefined) return kept;
    this.#machine.lanes.restore(from.state);
    const place = this.#machine.take(lines).determined ? this.#here(lines) : null;
    if (this.#kept.size < KEPT_MOST) this.#kept.set(key, place);
    return place;
  }

  /** Several steps, or null as soon as one is not determined. */
  steps(from: GoodPlace, vectors: readonly LineValues[]): GoodPlace | null {
    let place: GoodPlace | null = from;
    for (const lines of vectors) if (place) place = this.step(place, lines);
    return place;
  }

  /** Places that steps of one line lead to, nearest first, the start among them; at most so many. */
  *around(from: GoodPlace, placesMost: number): Generator<GoodPath> {
    const visited = new Set([keyOf(from)]);
    const queue: GoodPath[] = [{ place: from, vectors: [] }];
    for (const path of queue) {
      yield path;
      if (path.place.lines === null) return;
      for (let line = 0; line < this.subject.lineCount; line++) {
        const lines = toggled(path.place.lines, line);
        const place = this.step(path.place, lines);
        if (place === null || visited.has(keyOf(place)) || visited.size >= placesMost) continue;
        visited.add(keyOf(place));
        queue.push({ place, vectors: [...path.vectors, lines] });
      }
    }
  }

  #here(lines: LineValues | null): GoodPlace {
    const { lanes } = this.#machine;
    const values = Uint8Array.from(lanes.circuit.nets, (_, net) => lanes.value(net));
    return { state: lanes.save(), lines, values };
  }
}

export interface GoodPath {
  readonly place: GoodPlace;
  /** Steps that lead there. */
  readonly vectors: readonly LineValues[];
}

export function toggled(lines: LineValues, ...which: readonly number[]): LineValues {
  const next = lines.slice();
  for (const line of which) next[line] = 3 - (next[line] as number);
  return next;
}

/** The same only for places that no reading and no further step could tell apart. */
export function keyOf({ values }: GoodPlace): string {
  return values.join("");
}

/** Vectors a first step may be, every one where lines are few. */
export function firstVectors(lineCount: number, next: () => number): LineValues[] {
  return movesFrom(null, { lineCount, stay: false, next });
}
