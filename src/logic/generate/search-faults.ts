/**
 * The search for faults that a promising walk does not find: all places the faultless circuit and its faulty
 * copies can be in together, nearest first. Where it runs out of places without a copy having been seen
 * apart, no walk shows that fault, and that is a proof, provided every move was among those tried.
 *
 * Copies are followed side by side, so that one search answers for many; where the places of all together are
 * too many, for half of them at a time.
 */
import type { Fault } from "../faults/fault.ts";
import type { LaneState } from "../lanes/lanes.ts";
import { movesAreAll, movesFrom } from "./moves.ts";
import { type LineValues, WalkMachine, type WalkSubject } from "./walk-machine.ts";

export type FaultSearch =
  /** Steps to take after those it was searched from; the last shows the fault. */
  | { readonly kind: "found"; readonly vectors: readonly LineValues[] }
  /**
   * Every place was tried, by every move. Where the faulty circuit was unknown at a net that was read, the
   * steps to the nearest such place: a board with the fault then shows it or not, as its parts will have it.
   */
  | {
      readonly kind: "none";
      readonly places: number;
      readonly unsure: readonly LineValues[] | null;
    }
  | { readonly kind: "not found"; readonly places: number };

export interface FaultSearchOptions {
  /** Steps already taken since power-up. */
  readonly after: readonly LineValues[];
  readonly placesMost: number;
  readonly next: () => number;
  /** Take a fault for found where it may show. */
  readonly mayShow?: boolean;
  /** End as soon as one is found. */
  readonly one?: boolean;
}

/** Faults of one search, so that with the faultless circuit they fill one word of lanes. */
const TOGETHER = 31;

/** @returns of each fault what was found of it */
export function searchFaults(
  subject: WalkSubject,
  faults: readonly Fault[],
  options: FaultSearchOptions,
): FaultSearch[] {
  if (faults.length === 0) return [];
  if (faults.length > TOGETHER) return inHalves(subject, faults, options);
  const answers = new Search(subject, faults, options).run();
  const open = [...answers.keys()].filter((fault) => answers[fault]?.kind === "not found");
  if (open.length === 0 || faults.length === 1) return answers;
  if (options.one === true && open.length < faults.length) return answers;
  const anew = inHalves(
    subject,
    open.map((fault) => faults[fault] as Fault),
    options,
  );
  return answers.map((answer, fault) => anew[open.indexOf(fault)] ?? answer);
}

function inHalves(
  subject: WalkSubject,
  faults: readonly Fault[],
  options: FaultSearchOptions,
): FaultSearch[] {
  const half = Math.ceil(faults.length / 2);
  return [
    ...searchFaults(subject, faults.slice(0, half), options),
    ...searchFaults(subject, faults.slice(half), options),
  ];
}

interface Node {
  readonly state: LaneState;
  readonly lines: LineValues | null;
  readonly before: Node | null;
}

class Search {
  readonly #subject: WalkSubject;
  readonly #machine: WalkMachine;
  readonly #options: FaultSearchOptions;
  readonly #found: (LineValues[] | null)[];
  readonly #unsure: (LineValues[] | null)[];
  /** Lanes not found yet. */
  #open: number;

  constructor(subject: WalkSubject, faults: readonly Fault[], options: FaultSearchOptions) {
    this.#subject = subject;
    this.#machine = new WalkMachine(subject, faults);
    this.#options = options;
    this.#found = faults.map(() => null);
    this.#unsure = faults.map(() => null);
    this.#open = faults.reduce((bits, _, fault) => bits | bitOf(fault), 0);
  }

  run(): FaultSearch[] {
    const { after, placesMost, one } = this.#options;
    const { lanes } = this.#machine;
    for (const vector of after) this.#machine.take(vector);
    const queue: Node[] = [{ state: lanes.save(), lines: after.at(-1) ?? null, before: null }];
    const visited = new VisitedStates();
    const all = this.#open;
    for (const node of queue) {
      if (this.#open === 0 || (one === true && this.#open !== all)) break;
      if (visited.size > placesMost) return this.#answers(visited.size, false);
      for (const lines of this.#moves(node.lines)) {
        const there = this.#step(node, lines);
        if (there === null) continue;
        if (visited.add(there.state, this.#open | 1)) queue.push(there);
      }
    }
    const isProof = this.#open === all || one !== true;
    return this.#answers(visited.size, isProof && movesAreAll(this.#subject.lineCount));
  }

  #moves(from: LineValues | null): LineValues[] {
    const { lineCount } = this.#subject;
    const { next } = this.#options;
    return movesFrom(from, { lineCount, stay: this.#machine.isClocked, next });
  }

  #step(node: Node, lines: LineValues): Node | null {
    const { lanes } = this.#machine;
    lanes.restore(node.state);
    const { determined, reading } = this.#machine.take(lines);
    if (!determined) return null;
    const there: Node = { state: lanes.save(), lines, before: node };
    const surely = (reading.detected[0] as number) & this.#open;
    const maybe = (reading.possible[0] as number) & this.#open;
    const shows = this.#options.mayShow === true ? surely | maybe : surely;
    if (shows !== 0) this.#note(this.#found, shows, there);
    if (maybe !== 0) this.#note(this.#unsure, maybe, there);
    this.#open &= ~shows;
    return there;
  }

  #note(where: (LineValues[] | null)[], bits: number, there: Node): void {
    for (const fault of where.keys())
      if ((bits & bitOf(fault)) !== 0) where[fault] ??= vectorsTo(there);
  }

  #answers(places: number, isProof: boolean): FaultSearch[] {
    return this.#found.map((vectors, fault) => {
      if (vectors !== null) return { kind: "found", vectors };
      if (isProof) return { kind: "none", places, unsure: this.#unsure[fault] ?? null };
      return { kind: "not found", places };
    });
  }
}

/** Lane 0 is the faultless circuit. */
const bitOf = (fault: number): number => 1 << (fault + 1);

function vectorsTo(node: Node): LineValues[] {
  const vectors: LineValues[] = [];
  for (let at: Node = node; at.lines && at.before; at = at.before) vectors.unshift(at.lines);
  return vectors;
}

/** States that have been seen, compared value by value in the lanes that still count: a proof rests on it. */
class VisitedStates {
  readonly #byHash = new Map<number, LaneState[]>();
  size = 0;

  /** Whether it is new. */
  add(state: LaneState, lanes: number): boolean {
    const hash = hashOf(state, lanes);
    const alike = this.#byHash.get(hash);
    if (alike?.some((one) => isSame(one, state, lanes))) return false;
    if (alike) alike.push(state);
    else this.#byHash.set(hash, [state]);
    this.size += 1;
    return true;
  }
}

function hashOf({ low, high }: LaneState, lanes: number): number {
  let hash = 0x811c9dc5;
  for (let net = 0; net < low.length; net++) {
    hash = Math.imul(hash ^ ((low[net] as number) & lanes), 0x01000193);
    hash = Math.imul(hash ^ ((high[net] as number) & lanes) ^ (hash >>> 15), 0x85ebca6b);
  }
  return hash;
}

function isSame(one: LaneState, other: LaneState, lanes: number): boolean {
  for (let net = 0; net < one.low.length; net++) {
    const off =
      ((one.low[net] as number) ^ (other.low[net] as number)) |
      ((one.high[net] as number) ^ (other.high[net] as number));
    if ((off & lanes) !== 0) return false;
  }
  return true;
}
