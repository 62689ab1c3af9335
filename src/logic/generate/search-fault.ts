/**
 * The search for one fault: all places the faultless and the faulty circuit can be in together, nearest
 * first. Where it runs out of places without the two having been seen apart, no walk shows the fault, and
 * that is a proof, provided every move was among those tried.
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
}

interface Node {
  readonly state: LaneState;
  readonly lines: LineValues | null;
  readonly before: Node | null;
}

export function searchFault(
  subject: WalkSubject,
  fault: Fault,
  { after, placesMost, next }: FaultSearchOptions,
): FaultSearch {
  const machine = new WalkMachine(subject, [fault]);
  const { lanes } = machine;
  for (const vector of after) machine.take(vector);
  const queue: Node[] = [{ state: lanes.save(), lines: after.at(-1) ?? null, before: null }];
  const visited = new Set<string>();
  let unsure: LineValues[] | null = null;
  for (const node of queue) {
    const moves = movesFrom(node.lines, {
      lineCount: subject.lineCount,
      stay: machine.isClocked,
      next,
    });
    for (const lines of moves) {
      lanes.restore(node.state);
      const { determined, reading } = machine.take(lines);
      if (!determined) continue;
      const there: Node = { state: lanes.save(), lines, before: node };
      if (((reading.detected[0] as number) & FAULTY) !== 0)
        return { kind: "found", vectors: vectorsTo(there) };
      if (unsure === null && ((reading.possible[0] as number) & FAULTY) !== 0)
        unsure = vectorsTo(there);
      const key = exactKey(there.state);
      if (visited.has(key)) continue;
      visited.add(key);
      if (visited.size > placesMost) return { kind: "not found", places: visited.size };
      queue.push(there);
    }
  }
  const places = visited.size;
  return movesAreAll(subject.lineCount)
    ? { kind: "none", places, unsure }
    : { kind: "not found", places };
}

/** Bit of the one faulty lane. */
const FAULTY = 2;

function vectorsTo(node: Node): LineValues[] {
  const vectors: LineValues[] = [];
  for (let at: Node = node; at.lines && at.before; at = at.before) vectors.unshift(at.lines);
  return vectors;
}

/** Both lanes' values net by net, so that two places share a key only if they are one. */
function exactKey({ low, high }: LaneState): string {
  let key = "";
  for (let net = 0; net < low.length; net++)
    key += String.fromCharCode(
      48 + ((low[net] as number) & 3) + (((high[net] as number) & 3) << 2),
    );
  return key;
}
