/**
 * A test for a circuit that keeps a state: a walk from power-up on which every step ends where it must and
 * every testable fault shows, in few steps, and among walks of equally many steps one that tells faults apart
 * soon. A fault not found is called untestable only where that is proved.
 */
import type { Fault } from "../faults/fault.ts";
import { LANES_A_WORD } from "../lanes/lane-masks.ts";
import { chance } from "./chance.ts";
import { answersNow, FaultGroups } from "./fault-groups.ts";
import { type FaultSearch, searchFaults } from "./search-faults.ts";
import { searchWalk, startPlace, type WalkPlace, walkTo } from "./search-walk.ts";
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
  /**
   * Faults, by index, that were neither found nor proved untestable, and places searched for each; none where
   * steps from power-up would show it that this walk does not begin with and cannot come back to.
   */
  readonly notFound: readonly { readonly fault: number; readonly places: number }[];
}

/** Evaluations of gates, 32 lanes each, that one search may cost: about two seconds. */
const SEARCH_EVALUATIONS = 1.5e7;
/** Places of one fault's search; the same for every machine, so that a result repeats. */
const PLACES_MOST = 50_000;
/** First walk: narrow, ends when this many steps in a row find nothing. */
const SCOUT_WIDTH = 8;
const PATIENCE = 24;
/** The same where it goes on from a place found by another search. */
const SHORT_PATIENCE = 6;
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
  const options = { placesMost: PLACES_MOST, next };
  const target = task.faults.length;
  const goOn = (from: WalkPlace, patience: number) =>
    searchWalk(
      machine,
      from,
      { width: SCOUT_WIDTH, patience, target, stepsMost: task.stepsMost - from.steps, triesMost },
      next,
    ).best[0] ?? from;
  const first = goOn(startPlace(machine), PATIENCE);
  const left = [...task.faults.keys()].filter((fault) => !isSet(first.found, fault + 1));
  const faultsOf = (indices: readonly number[]) =>
    indices.map((fault) => task.faults[fault] as Fault);
  // All ways begin at power-up, so what is proved from there is proved.
  const answers = searchFaults(task, faultsOf(left), { ...options, after: [] });
  const untestable = left.filter((_, at) => isNever(answers[at]));
  const unsure = left.filter((_, at) => answers[at]?.kind === "none" && !isNever(answers[at]));
  for (const fault of unsure) setBit(machine.unsure, fault + 1);
  let place = goOn(first, SHORT_PATIENCE);
  for (let open = left; open.length > 0; ) {
    const missing = (among: readonly number[]) =>
      among.filter((fault) => !isSet(place.found, fault + 1) && !untestable.includes(fault));
    open = missing(open);
    const steps = nearest(task, place, {
      surely: faultsOf(open.filter((fault) => !unsure.includes(fault))),
      maybe: faultsOf(open.filter((fault) => unsure.includes(fault))),
      options,
    });
    if (steps === null || place.steps + steps.length > task.stepsMost) break;
    place = goOn(placesOf(machine, steps, place)?.at(-1) ?? place, SHORT_PATIENCE);
  }
  const notFound = left.flatMap((fault, at) => {
    const answer = answers[at];
    if (isSet(place.found, fault + 1) || answer === undefined || answer.kind === "none") return [];
    return [{ fault, places: answer.kind === "not found" ? answer.places : 0 }];
  });
  return { vectors: walkTo(place), left: { untestable, unsure, notFound } };
}

function isNever(answer: FaultSearch | undefined): boolean {
  return answer?.kind === "none" && answer.unsure === null;
}

/** Steps from a place to the nearest at which one of these faults shows, or where one that may show may. */
function nearest(
  task: WalkTask,
  place: WalkPlace,
  {
    surely,
    maybe,
    options,
  }: {
    surely: readonly Fault[];
    maybe: readonly Fault[];
    options: { placesMost: number; next: () => number };
  },
): readonly LineValues[] | null {
  const after = walkTo(place);
  for (const [faults, mayShow] of [
    [surely, false],
    [maybe, true],
  ] as const) {
    const answers = searchFaults(task, faults, { ...options, after, mayShow, one: true });
    const found = answers.flatMap((answer) => (answer.kind === "found" ? [answer.vectors] : []));
    const shortest = found.sort((a, b) => a.length - b.length)[0];
    if (shortest) return shortest;
  }
  return null;
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
