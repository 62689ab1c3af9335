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
  const graph = reachable(model, transitionsMax);
  if (graph === null) return not(`larger than ${transitionsMax} transitions`);
  return described(circuit, whole, { delays, model, graph });
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

function reachable(model: RaceModel, transitionsMax: number): StateGraph | null {
  const states = [model.start];
  const placeOf = new Map([[model.start, 0]]);
  const excited: number[] = [];
  const first = [0];
  const targets: number[] = [];
  for (let place = 0; place < states.length; place++) {
    const state = states[place] as number;
    const wanting = model.excited(state);
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

function described(
  circuit: Circuit,
  settling: Settling,
  found: { readonly delays: Delays; readonly model: RaceModel; readonly graph: StateGraph },
): Exploration {
  const { model, graph, delays } = found;
  const { states, excited } = graph;
  const groups = stateGroups(graph);
  const netMask = (bits: number) =>
    model.gateNets.filter((_, index) => (bits & (1 << index)) !== 0);
  const ends = new Map<number, NetValues>();
  const gateBits = model.gateNets.length === 0 ? 0 : -1 >>> (32 - model.gateNets.length);
  const all = { or: 0, and: -1 };
  const out = { or: 0, and: -1 };
  const join = (to: { or: number; and: number }, state: number) => {
    to.or |= state;
    to.and &= state;
  };
  let oscillating = 0;
  for (const state of states) join(all, state);
  for (const group of groups) {
    const lone = group.length === 1 ? (group[0] as number) : -1;
    if (lone >= 0) {
      if (excited[lone] !== 0) continue;
      const state = states[lone] as number;
      join(out, state);
      ends.set(state & gateBits, valuesOf(circuit, settling, model, state));
      continue;
    }
    let changes = 0;
    let alwaysWanting = -1;
    for (const place of group) {
      changes |= (states[place] as number) ^ (states[group[0] as number] as number);
      alwaysWanting &= excited[place] as number;
    }
    // Something that wants to move all along and never does has to move in the end, and leaves the group.
    if ((alwaysWanting & ~changes) !== 0) continue;
    oscillating |= changes;
    for (const place of group) join(out, states[place] as number);
  }
  return {
    explored: true,
    delays,
    stateCount: states.length,
    ends: [...ends.values()],
    oscillating: netMask(oscillating),
    reached: joined(settling, model, all),
    outcome: joined(settling, model, out),
    movesThrice: netMask(movesThrice(graph, groups)),
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

function joined(
  { after }: Settling,
  model: RaceModel,
  { or, and }: { readonly or: number; readonly and: number },
): NetValues {
  const values = Uint8Array.from(after);
  for (const [index, net] of model.gateNets.entries()) {
    const bit = 1 << index;
    values[net] = ((or & bit) !== 0 ? HIGH : 0) | ((and & bit) === 0 ? LOW : 0);
  }
  return values;
}

/** Bits of the variables that change three times or more along some path. Groups come last ones first. */
function movesThrice(graph: StateGraph, groups: readonly (readonly number[])[]): number {
  const { states, first, targets } = graph;
  // By state, the bits that can have changed once, twice and thrice or more on the way there.
  const once = new Int32Array(states.length);
  const twice = new Int32Array(states.length);
  const thrice = new Int32Array(states.length);
  let any = 0;
  for (const group of groups.toReversed()) {
    let [one, two, three] = [0, 0, 0];
    const lead = group[0] as number;
    let changes = 0;
    for (const place of group) {
      changes |= (states[place] as number) ^ (states[lead] as number);
      one |= once[place] as number;
      two |= twice[place] as number;
      three |= thrice[place] as number;
    }
    // What changes inside a group can change any number of times.
    one |= changes;
    two |= changes;
    three |= changes;
    any |= three;
    for (const place of group) {
      const state = states[place] as number;
      for (let at = first[place] as number; at < (first[place + 1] as number); at++) {
        const target = targets[at] as number;
        const moved = state ^ (states[target] as number);
        once[target] = (once[target] as number) | one | moved;
        twice[target] = (twice[target] as number) | two | (one & moved);
        thrice[target] = (thrice[target] as number) | three | (two & moved);
      }
    }
  }
  return any;
}
