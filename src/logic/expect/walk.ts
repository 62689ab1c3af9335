/**
 * A sequence walked through the model: from power on, through the warm-up patterns, to every stop of the
 * pass and of the soak's cycle. The warm-up may end after any of its patterns, so each end is walked, and a
 * net is known at a stop only where all of them agree.
 */
import type { LineLevels, PatternStep, WarmUpExercise } from "../../events/plan.ts";
import type { Circuit } from "../netlist/circuit.ts";
import { settle } from "../ternary/settle.ts";
import { HIGH, LOW, UNKNOWN } from "../ternary/values.ts";
import { exerciseStop, type StepAt, type Stop, stopsOf } from "./stops.ts";

/** Levels a net may have: 1 low, 2 high, 3 not known. */
export { HIGH, LOW, UNKNOWN };

/** Rounds of the warm-up patterns after which a board that has not come round is not waited for. */
const ROUNDS_MAX = 16;

/** A place no walk has: the largest that fits its array. */
const LATER_THAN_ALL = 2 ** 31 - 1;

export interface Walked {
  readonly stop: Stop;
  /** Of every net of the circuit, over all ways in which the walk may have come here. */
  readonly levels: Uint8Array;
  /** The same before the lines were moved. */
  readonly before: Uint8Array;
  /**
   * Of every net, the stop, by its place in the walk, since which it has not been known without a break; -1
   * since power-up; meaningless where it is known.
   */
  readonly unknownSince: Int32Array;
  /** 1 where every way that comes here knows the net and they do not agree. */
  readonly divided: Uint8Array;
  /** Lines that were driven otherwise before, by name. */
  readonly changed: readonly string[];
}

export interface SequenceWalk {
  readonly circuit: Circuit;
  /** Warm-up patterns in the round that repeats, steps, and a soak's cycle in the round that repeats. */
  readonly exercise: readonly Walked[];
  readonly pass: readonly Walked[];
  readonly cycle: readonly Walked[];
  /** Every stop by its place, warm-up rounds that did not repeat included: `unknownSince` names one. */
  readonly byPlace: ReadonlyMap<number, Walked>;
}

export interface WalkGiven {
  readonly circuit: Circuit;
  readonly exercise: readonly WarmUpExercise[];
  readonly steps: readonly StepAt[];
  readonly cycle: readonly StepAt<PatternStep>[];
  /** Whether the soak switches power off and on, so that a cycle may also follow a warm-up. */
  readonly powerCycles: boolean;
  /** Level of each line with its contact at rest; a line missing here is unknown until it is driven. */
  readonly atRest: LineLevels;
}

/** A way in which the board may have come to where it is. */
interface Way {
  readonly state: Uint8Array;
  readonly since: Int32Array;
}

export function walkSequence(given: WalkGiven): SequenceWalk {
  const walker = new Walker(given);
  const { exercise, ends } = walker.warmUp();
  let ways = ends;
  const pass: Walked[] = [];
  for (const step of given.steps) {
    for (const stop of stopsOf(step, (line) => walker.levelOf(line))) {
      const walked = walker.visit(stop, ways);
      pass.push(walked.walked);
      ways = walked.ways;
    }
  }
  const cycle = walker.rounds(given.cycle, given.powerCycles ? [...ways, ...ends] : ways);
  return { circuit: given.circuit, exercise, pass, cycle, byPlace: walker.byPlace };
}

class Walker {
  readonly #circuit: Circuit;
  readonly #given: WalkGiven;
  readonly #levels = new Map<string, "low" | "high">();
  readonly #settled = new Map<string, Uint8Array>();
  readonly byPlace = new Map<number, Walked>();

  constructor(given: WalkGiven) {
    this.#given = given;
    this.#circuit = given.circuit;
    for (const [line, level] of Object.entries(given.atRest)) this.#levels.set(line, level);
  }

  levelOf(line: string): "low" | "high" | undefined {
    return this.#levels.get(line);
  }

  /** Rounds of the patterns until they repeat; the ways the warm-up may end are those of the last round. */
  warmUp(): { readonly exercise: readonly Walked[]; readonly ends: readonly Way[] } {
    const count = this.#circuit.nets.length;
    const dark: Way = {
      state: new Uint8Array(count).fill(UNKNOWN),
      since: new Int32Array(count).fill(-1),
    };
    let ways: readonly Way[] = [this.#drive(dark, this.#given.atRest, -1)];
    if (this.#given.exercise.length === 0) return { exercise: [], ends: ways };
    const stops = this.#given.exercise.map((one, index) => exerciseStop(one, index));
    const seen = new Set<string>();
    for (let round = 0; ; round++) {
      const exercise: Walked[] = [];
      const ends: Way[] = [];
      for (const stop of stops) {
        const visited = this.visit(stop, ways);
        exercise.push(visited.walked);
        ends.push(...visited.ways);
        ways = visited.ways;
      }
      const key = ways.map(({ state }) => keyOf(state)).join();
      if (seen.has(key) || round === ROUNDS_MAX) return { exercise, ends: distinct(ends) };
      seen.add(key);
    }
  }

  /** A cycle over and over until it repeats: what a net has at a stop, it has there in every round. */
  rounds(cycle: readonly StepAt<PatternStep>[], from: readonly Way[]): readonly Walked[] {
    if (cycle.length === 0) return [];
    let all = distinct(from);
    const seen = new Set(all.map(({ state }) => keyOf(state)));
    for (;;) {
      let ways: readonly Way[] = all;
      const walked: Walked[] = [];
      for (const step of cycle) {
        for (const stop of stopsOf(step, (line) => this.levelOf(line))) {
          const visited = this.visit(stop, ways);
          walked.push(visited.walked);
          ways = visited.ways;
        }
      }
      const fresh = ways.filter(({ state }) => !seen.has(keyOf(state)));
      if (fresh.length === 0 || all.length > ROUNDS_MAX) return walked;
      for (const { state } of fresh) seen.add(keyOf(state));
      all = [...all, ...fresh];
    }
  }

  visit(
    stop: Stop,
    ways: readonly Way[],
  ): { readonly walked: Walked; readonly ways: readonly Way[] } {
    const place = this.byPlace.size;
    const changed = Object.entries(stop.set)
      .filter(([line, level]) => this.#levels.get(line) !== level)
      .map(([line]) => line);
    for (const [line, level] of Object.entries(stop.set)) this.#levels.set(line, level);
    const after = distinct(ways.map((way) => this.#drive(way, stop.set, place)));
    const { length } = this.#circuit.nets;
    const before = joined(ways, length).levels;
    const walked = { stop, changed, before, ...joined(after, length) };
    this.byPlace.set(place, walked);
    return { walked, ways: after };
  }

  #drive(way: Way, set: LineLevels, place: number): Way {
    const { inputs, netOf } = this.#circuit;
    const values = Uint8Array.from(inputs, (net) => way.state[net] ?? UNKNOWN);
    for (const [line, level] of Object.entries(set)) {
      const net = netOf.get(line);
      const at = net === undefined ? -1 : inputs.indexOf(net);
      if (at >= 0) values[at] = level === "high" ? HIGH : LOW;
    }
    const state = this.#settle(way.state, values);
    const since = Int32Array.from(state, (level, net) =>
      level === UNKNOWN && way.state[net] === UNKNOWN ? (way.since[net] ?? -1) : place,
    );
    return { state, since };
  }

  #settle(before: Uint8Array, values: Uint8Array): Uint8Array {
    const key = `${keyOf(before)}/${keyOf(values)}`;
    const known = this.#settled.get(key);
    if (known !== undefined) return known;
    const { after } = settle(this.#circuit, before, values);
    this.#settled.set(key, after);
    return after;
  }
}

function keyOf(state: Uint8Array): string {
  return state.join("");
}

/** Ways that stand alike are one; of these the one that has been unknown for longest. */
function distinct(ways: readonly Way[]): Way[] {
  const byState = new Map<string, Way>();
  for (const way of ways) {
    const key = keyOf(way.state);
    const known = byState.get(key);
    if (known === undefined) byState.set(key, way);
    else {
      const since = known.since.map((place, net) => Math.min(place, way.since[net] ?? place));
      byState.set(key, { state: known.state, since });
    }
  }
  return [...byState.values()];
}

function joined(ways: readonly Way[], count: number): Omit<Walked, "stop" | "changed" | "before"> {
  const levels = new Uint8Array(count);
  const divided = new Uint8Array(count).fill(1);
  const unknownSince = new Int32Array(count).fill(LATER_THAN_ALL);
  for (const { state, since } of ways) {
    for (let net = 0; net < count; net++) {
      const level = state[net] ?? UNKNOWN;
      levels[net] = (levels[net] ?? 0) | level;
      if (level !== UNKNOWN) continue;
      divided[net] = 0;
      unknownSince[net] = Math.min(unknownSince[net] ?? 0, since[net] ?? -1);
    }
  }
  for (let net = 0; net < count; net++) if (levels[net] !== UNKNOWN) divided[net] = 0;
  return { levels, divided, unknownSince };
}
