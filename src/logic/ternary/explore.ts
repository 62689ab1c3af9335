/**
 * Every way a step can go in a small network: from each state any of the gates that want to move do so, alone
 * or together (the general multiple winner model). Tells a race from an oscillation and lists the ends.
 *
 * @source J. A. Brzozowski and C.-J. H. Seger, Asynchronous Circuits, Springer 1995 (from memory); results as
 *   in tests/references/logic/ternary.json
 */
import { type Circuit, pinsOf } from "../netlist/circuit.ts";
import { type Delays, type RaceModel, raceModel, raceVariables } from "./race-model.ts";
import type { Settling } from "./settle.ts";
import { stateGroups } from "./state-groups.ts";
import { HIGH, LOW, type NetValues, UNKNOWN } from "./values.ts";

export interface Exploration {
  readonly explored: true;
  readonly delays: Delays;
  readonly stateCount: number;
  /** Stable states that can be reached, as values of all nets, each once. */
  readonly ends: readonly NetValues[];
  /** Nets that can go on moving for as long as delays stay as they are. */
  readonly oscillating: readonly number[];
  /** By net, each value it can have on the way, and where it can end or go on: bitwise or of all. */
  readonly reached: NetValues;
  readonly outcome: NetValues;
  /** Nets that can move three times or more. */
  readonly movesThrice: readonly number[];
}

export interface NotExplored {
  readonly explored: false;
  readonly delays: Delays;
  /** `larger than 16: 40 gates may move`, for a person. */
  readonly why: string;
}

export interface ExploreOptions {
  readonly delays: Delays;
  /** Leave out what none of these nets depends on; ends then say of the rest what procedure B does. */
  readonly towards?: readonly number[];
  /** Variables up to which a network is explored; at most 30. */
  readonly variablesMax?: number;
  /** Transitions after which the search stops without a result. */
  readonly transitionsMax?: number;
}

const VARIABLES_MAX: Readonly<Record<Delays, number>> = { gates: 16, "gates and wires": 26 };
const TRANSITIONS_MAX = 400_000;

/** Explore a step that has been settled; its `from` has to be known wherever something moves. */
export function explore(
  circuit: Circuit,
  whole: Settling,
  options: ExploreOptions,
): Exploration | NotExplored {
  const { towards } = options;
  const settling = towards === undefined ? whole : leadingTo(circuit, whole, towards);
  const { delays, transitionsMax = TRANSITIONS_MAX } = options;
  const variablesMax = Math.min(30, options.variablesMax ?? VARIABLES_MAX[delays]);
  const not = (why: string): NotExplored => ({ explored: false, delays, why });
  const sources = [...circuit.inputs, ...circuit.flipFlopOutput];
  if (settling.from.some((value, net) => value === UNKNOWN && settling.during[net] === UNKNOWN))
    return not("nets were unknown before");
  if (sources.some((net) => settling.after[net] === UNKNOWN)) return not("an input is unknown");
  const count = raceVariables(circuit, settling, delays);
  if (count > variablesMax) return not(`larger than ${variablesMax}: ${count} ${delays} may move`);
  const model = raceModel(circuit, settling, delays);
  const first = settledGraph(model, [model.start], { held: model.slow, transitionsMax });
  if (first === null || model.slow === 0)
    return first === null
      ? not(`larger than ${transitionsMax} transitions`)
      : described(circuit, whole, { delays, model, passes: [first] });
  const then = settledGraph(model, first.restingStates, { held: 0, transitionsMax });
  if (then === null) return not(`larger than ${transitionsMax} transitions`);
  return described(circuit, whole, { delays, model, passes: [first, then] });
}

/** The same step with all nets still that none of these depends on. */
function leadingTo(circuit: Circuit, step: Settling, nets: readonly number[]): Settling {
  const cone = new Set(nets);
  for (const net of cone) {
    const gate = circuit.driver[net] as number;
    if (gate >= 0) for (const source of pinsOf(circuit, gate)) cone.add(source);
  }
  const still = (values: NetValues) => values.map((value, net) => (cone.has(net) ? value : LOW));
  return { from: still(step.from), during: still(step.during), after: still(step.after) };
}

/** States in the order they were found, and where each can go: `targets[first[s]]` up to `first[s + 1]`. */
interface StateGraph {
  readonly states: readonly number[];
  readonly excited: readonly number[];
  readonly first: readonly number[];
  readonly targets: readonly number[];
}

/** A graph, its groups, and where a way through it can end or go on for ever. */
interface SettledGraph {
  readonly graph: StateGraph;
  /** Those others lead to first. */
  readonly groups: readonly (readonly number[])[];
  readonly restingStates: readonly number[];
  readonly stable: readonly number[];
  /** Bits that move in groups that may never be left. */
  readonly oscillating: number;
}

interface Pass {
  /** Bits that may not move in it. */
  readonly held: number;
  readonly transitionsMax: number;
}

function settledGraph(
  model: RaceModel,
  starts: readonly number[],
  pass: Pass,
): SettledGraph | null {
  const graph = reachable(model, starts, pass);
  if (graph === null) return null;
  const { states, excited } = graph;
  const groups = stateGroups(graph);
  const restingStates: number[] = [];
  const stable: number[] = [];
  let oscillating = 0;
  for (const group of groups) {
    const lead = group[0] as number;
    if (group.length === 1 && excited[lead] !== 0) continue;
    if (group.length === 1) stable.push(states[lead] as number);
    const changes = changesOf(graph, group);
    const alwaysWanting = group.reduce((bits, place) => bits & (excited[place] as number), -1);
    // Something that wants to move all along and never does has to move in the end, and leaves the group.
    if ((alwaysWanting & ~changes) !== 0) continue;
    oscillating |= changes;
    for (const place of group) restingStates.push(states[place] as number);
  }
  return { graph, groups, restingStates, stable, oscillating };
}

function reachable(
  model: RaceModel,
  starts: readonly number[],
  { held, transitionsMax }: Pass,
): StateGraph | null {
  const states = [...starts];
  const placeOf = new Map(starts.map((state, place) => [state, place]));
  const excited: number[] = [];
  const first = [0];
  const targets: number[] = [];
  for (let place = 0; place < states.length; place++) {
    const state = states[place] as number;
    const wanting = model.excited(state) & ~held;
    excited.push(wanting);
    for (let movers = wanting; movers !== 0; movers = (movers - 1) & wanting) {
      if (targets.length >= transitionsMax) return null;
      const next = state ^ movers;
      let target = placeOf.get(next);
      if (target === undefined) {
        target = states.length;
        placeOf.set(next, target);
        states.push(next);
      }
      targets.push(target);
    }
    first.push(targets.length);
  }
  return { states, excited, first, targets };
}

/** Bits that differ between states of a group. */
function changesOf({ states }: StateGraph, group: readonly number[]): number {
  const lead = states[group[0] as number] as number;
  return group.reduce((bits, place) => bits | ((states[place] as number) ^ lead), 0);
}

/** @param found passes one after the other: with slow gates held, if there are any, then with all free */
function described(
  circuit: Circuit,
  settling: Settling,
  found: {
    readonly delays: Delays;
    readonly model: RaceModel;
    readonly passes: readonly SettledGraph[];
  },
): Exploration {
  const { model, passes, delays } = found;
  const last = passes.at(-1);
  if (last === undefined) throw new Error("an exploration has one pass or two");
  const netMask = (bits: number) =>
    model.gateNets.filter((_, index) => (bits & (1 << index)) !== 0);
  const gateBits = model.gateNets.length === 0 ? 0 : -1 >>> (32 - model.gateNets.length);
  const ends = new Map(last.stable.map((state) => [state & gateBits, state]));
  const everywhere = passes.flatMap(({ graph }) => graph.states);
  return {
    explored: true,
    delays,
    stateCount: new Set(everywhere).size,
    ends: [...ends.values()].map((state) => valuesOf(circuit, settling, model, state)),
    oscillating: netMask(last.oscillating),
    reached: joined(settling, model, everywhere),
    outcome: joined(settling, model, last.restingStates),
    movesThrice: netMask(movesThrice(passes)),
  };
}

function valuesOf(
  circuit: Circuit,
  settling: Settling,
  model: RaceModel,
  state: number,
): NetValues {
  const values = Uint8Array.from(circuit.nets, (_, net) => settling.after[net] as number);
  for (const [index, net] of model.gateNets.entries())
    values[net] = (state & (1 << index)) !== 0 ? HIGH : LOW;
  return values;
}

function joined({ after }: Settling, model: RaceModel, states: readonly number[]): NetValues {
  let or = 0;
  let and = -1;
  for (const state of states) {
    or |= state;
    and &= state;
  }
  const values = Uint8Array.from(after);
  for (const [index, net] of model.gateNets.entries()) {
    const bit = 1 << index;
    values[net] = ((or & bit) !== 0 ? HIGH : 0) | ((and & bit) === 0 ? LOW : 0);
  }
  return values;
}

/** Bits that can have changed once, twice, thrice or more on the way to a state. */
type Changes = readonly [once: number, twice: number, thrice: number];
const NO_CHANGES: Changes = [0, 0, 0];

/** Bits of the variables that change three times or more along some path through all passes. */
function movesThrice(passes: readonly SettledGraph[]): number {
  let before = new Map<number, Changes>();
  let any = 0;
  for (const { graph, groups } of passes) {
    const { states, first, targets } = graph;
    const changes = states.map((state): Changes => before.get(state) ?? NO_CHANGES);
    for (const group of groups.toReversed()) {
      // What changes inside a group can change any number of times.
      const inside = changesOf(graph, group);
      const here = group.reduce<Changes>(
        (one, place) => merged(one, changes[place] as Changes),
        [inside, inside, inside],
      );
      any |= here[2];
      for (const place of group) {
        changes[place] = here;
        const state = states[place] as number;
        for (let at = first[place] as number; at < (first[place + 1] as number); at++) {
          const target = targets[at] as number;
          const moved = state ^ (states[target] as number);
          const there: Changes = [
            here[0] | moved,
            here[1] | (here[0] & moved),
            here[2] | (here[1] & moved),
          ];
          changes[target] = merged(changes[target] as Changes, there);
        }
      }
    }
    before = new Map(states.map((state, place) => [state, changes[place] as Changes]));
  }
  return any;
}

function merged(one: Changes, other: Changes): Changes {
  return [one[0] | other[0], one[1] | other[1], one[2] | other[2]];
}
