/**
 * A test for a circuit that keeps a state: a walk from power-up on which every step ends where it must and
 * every testable fault shows, in few steps, and among walks of equally many steps one that tells faults apart
 * soon. A fault not found is called untestable only where that is proved.
 */
import type { Fault } from "../faults/fault.ts";
import { LANES_A_WORD } from "../lanes/lane-masks.ts";
import { chance } from "./chance.ts";
import { answersNow, FaultGroups } from "./fault-groups.ts";
import { type FaultSearch, searchFault } from "./search-fault.ts";
import { searchWalk, startPlace, walkTo } from "./search-walk.ts";
import { calmWalk, placesOf, shortenWalk } from "./shorten-walk.ts";
import { type LineValues, WalkMachine, type WalkSubject } from "./walk-machine.ts";

export interface WalkTask extends WalkSubject {
  /** One of each class of faults that no test tells apart is enough. */
  readonly faults: readonly Fault[];
  readonly seed: number;
  /** Steps the test may have; what is not found by then is left. */
  readonly stepsMost: number;
}

export interface WalkTest {
  /** Values of the lines step by step, 1 low, 2 high. */
  readonly vectors: readonly LineValues[];
  /** Of each fault, the first step that surely shows it, or -1. */
  readonly foundBy: Int32Array;
  /** Of each fault, the first step that may show it, as a net is then unknown under it; or -1. */
  readonly possiblyBy: Int32Array;
  /** Faults, by index, of which it is proved that no walk of determined steps shows them. */
  readonly untestable: readonly number[];
  /**
   * Faults, by index, under which the board is left to chance wherever they could show: proved that no walk
   * shows them in every case. The test has a step that may show each of them.
   */
  readonly unsure: readonly number[];
  /** Faults, by index, that were neither found nor proved untestable, and places searched for each. */
  readonly notFound: readonly { readonly fault: number; readonly places: number }[];
}

/** Evaluations of gates, 32 lanes each, that one search may cost: about two seconds. */
const SEARCH_EVALUATIONS = 4e7;
/** Places of one fault's search; the same for every machine, so that a result repeats. */
const PLACES_MOST = 20_000;
/** First walk: narrow, ends when this many steps in a row find nothing. */
const SCOUT = { width: 8, patience: 24 };
/** Places gone on from at each distance when few steps are sought. */
const WIDTH_MOST = 256;
/** Walks of equally few steps that are compared for how soon they split the faults. */
const COMPARED_MOST = 64;

export function walkTest(task: WalkTask): WalkTest {
  const next = chance(task.seed);
  const machine = new WalkMachine(task, task.faults);
  const triesMost = triesFor(machine);
  const scouted = scout(machine, task, { triesMost, next });
  const target = foundCount(machine, scouted.vectors);
  const short = shortenWalk(machine, scouted.vectors, triesMost);
  const width = Math.min(WIDTH_MOST, Math.floor(triesMost / (short.length * 8 + 1)));
  const wide = searchWalk(
    machine,
    startPlace(machine),
    { width, target, stepsMost: short.length, patience: short.length, triesMost },
    next,
  );
  const reached = wide.best.filter((place) => place.foundCount >= target);
  const walks = reached.length > 0 ? reached.slice(0, COMPARED_MOST).map(walkTo) : [short];
  const vectors = soonestSplitting(
    machine,
    walks.map((walk) => calmWalk(machine, shortenWalk(machine, walk, triesMost), triesMost)),
  );
  return { vectors, ...facts(machine, vectors), ...scouted.left };
}

function triesFor({ lanes, subject }: WalkMachine): number {
  return Math.ceil(SEARCH_EVALUATIONS / (subject.circuit.gateOutput.length * lanes.wordCount));
}

/** A walk that finds all that is found at all, however long, and what it leaves. */
function scout(
  machine: WalkMachine,
  task: WalkTask,
  { triesMost, next }: { triesMost: number; next: () => number },
): { vectors: LineValues[]; left: Pick<WalkTest, "untestable" | "unsure" | "notFound"> } {
  const untestable: number[] = [];
  const unsure: number[] = [];
  const notFound: { fault: number; places: number }[] = [];
  let place = startPlace(machine);
  const goOn = () => {
    if (place.steps >= task.stepsMost) return;
    const target = task.faults.length;
    const stepsMost = task.stepsMost - place.steps;
    place =
      searchWalk(machine, place, { ...SCOUT, target, stepsMost, triesMost }, next).best[0] ?? place;
  };
  goOn();
  for (const fault of task.faults.keys()) {
    if (isSet(place.found, fault + 1)) continue;
    const answer = searchFrom(task, walkTo(place), { fault, next });
    if (answer.kind === "not found") notFound.push({ fault, places: answer.places });
    else if (answer.kind === "none" && answer.unsure === null) untestable.push(fault);
    else if (answer.kind === "none") {
      unsure.push(fault);
      setBit(machine.unsure, fault + 1);
    }
    const steps =
      answer.kind === "found" ? answer.vectors : answer.kind === "none" ? answer.unsure : null;
    if (steps === null || place.steps + steps.length > task.stepsMost) continue;
    place = placesOf(machine, steps, place)?.at(-1) ?? place;
    goOn();
  }
  return {
    vectors: walkTo(place),
    left: {
      untestable,
      unsure,
      notFound: notFound.filter(({ fault }) => !isSet(place.found, fault + 1)),
    },
  };
}

/** From where the walk is; a proof that there is no way is made from power-up, where all ways begin. */
function searchFrom(
  task: WalkTask,
  after: readonly LineValues[],
  { fault: index, next }: { fault: number; next: () => number },
): FaultSearch {
  const fault = task.faults[index] as Fault;
  const options = { placesMost: PLACES_MOST, next };
  const here = searchFault(task, fault, { ...options, after });
  if (here.kind !== "none" || after.length === 0) return here;
  const anew = searchFault(task, fault, { ...options, after: [] });
  if (anew.kind === "found") return { kind: "not found", places: here.places };
  return anew.kind === "none" ? { ...anew, unsure: here.unsure ?? anew.unsure } : anew;
}

function setBit(words: Int32Array, lane: number): void {
  const word = Math.floor(lane / LANES_A_WORD);
  words[word] = (words[word] ?? 0) | (1 << (lane % LANES_A_WORD));
}

function isSet(words: Int32Array, lane: number): boolean {
  return (((words[Math.floor(lane / LANES_A_WORD)] ?? 0) >>> (lane % LANES_A_WORD)) & 1) === 1;
}

function foundCount(machine: WalkMachine, vectors: readonly LineValues[]): number {
  return placesOf(machine, vectors)?.at(-1)?.foundCount ?? 0;
}

/** Of the shortest walks, the one whose groups of faults, added up over its steps, are most. */
function soonestSplitting(
  machine: WalkMachine,
  walks: readonly (readonly LineValues[])[],
): readonly LineValues[] {
  const shortest = Math.min(...walks.map((walk) => walk.length));
  let best: readonly LineValues[] = [];
  let most = -1;
  for (const walk of walks) {
    if (walk.length > shortest) continue;
    const groups = new FaultGroups(machine.lanes.laneCount);
    let sum = 0;
    machine.lanes.powerUp();
    for (const vector of walk) {
      machine.take(vector, () => groups.split(answersNow(machine.lanes, machine.subject.observed)));
      sum += groups.count;
    }
    if (sum <= most) continue;
    most = sum;
    best = walk;
  }
  return best;
}

function facts(
  machine: WalkMachine,
  vectors: readonly LineValues[],
): Pick<WalkTest, "foundBy" | "possiblyBy"> {
  const faultCount = machine.lanes.laneCount - 1;
  const foundBy = new Int32Array(faultCount).fill(-1);
  const possiblyBy = new Int32Array(faultCount).fill(-1);
  machine.lanes.powerUp();
  for (const [step, vector] of vectors.entries()) {
    const { reading } = machine.take(vector);
    for (let fault = 0; fault < faultCount; fault++) {
      if (foundBy[fault] === -1 && isSet(reading.detected, fault + 1)) foundBy[fault] = step;
      if (possiblyBy[fault] === -1 && isSet(reading.possible, fault + 1)) possiblyBy[fault] = step;
    }
  }
  return { foundBy, possiblyBy };
}
