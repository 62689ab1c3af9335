/**
 * From power-up, with every net unknown: the shortest steps that make all nets known, and nets that no steps
 * make known. What the model cannot follow (two branches of one unknown that agree) counts as unknown, so a
 * board may come up by itself where this says that nothing is known of it.
 */
import type { Circuit } from "../netlist/circuit.ts";
import { clock, settle } from "./settle.ts";
import { allUnknown, HIGH, LOW, lettersOf, type NetValues, UNKNOWN } from "./values.ts";

export interface Initialising {
  /** Vectors, each in the order of the inputs; a clocked netlist is clocked after each. Null: none found. */
  readonly shortest: readonly string[] | null;
  /** Nets that are unknown at the end of everything tried, by name, where all are not known at once. */
  readonly neverKnown: readonly string[];
  /** Whether every state that steps lead to was seen; if not, `neverKnown` holds only for what was tried. */
  readonly complete: boolean;
  /** Where it was cut short, and why; null when it was not. */
  readonly limits: string | null;
}

export interface InitialiseOptions {
  /** Settlings after which the search stops. */
  readonly settlingsMax?: number;
  /** Inputs up to which all vectors are tried; with more, one line moves at a time. */
  readonly inputsMax?: number;
}

const SETTLINGS_MAX = 50_000;
const INPUTS_MAX = 8;

/** Search breadth first, so that what is found is as short as can be among the vectors tried. */
export function initialisingSteps(circuit: Circuit, options: InitialiseOptions = {}): Initialising {
  const { settlingsMax = SETTLINGS_MAX, inputsMax = INPUTS_MAX } = options;
  const width = circuit.inputs.length;
  const allVectors = width <= inputsMax;
  const powerUp = allUnknown(circuit);
  const places: Place[] = [{ values: powerUp, before: null, vector: "" }];
  const seen = new Set([powerUp.join("")]);
  const everKnown = new Uint8Array(circuit.nets.length);
  let settlings = 0;
  let cut = false;
  for (let at = 0; at < places.length && !cut; at++) {
    const place = places[at] as Place;
    for (const vector of vectorsFrom(circuit, place.values, allVectors)) {
      if (settlings >= settlingsMax) {
        cut = true;
        break;
      }
      settlings += 1;
      const values = stepped(circuit, place.values, vector);
      for (const [net, value] of values.entries()) if (value !== UNKNOWN) everKnown[net] = 1;
      const letters = lettersOf(vector, [...vector.keys()]);
      const next: Place = { values, before: place, vector: letters };
      if (!values.includes(UNKNOWN))
        return { shortest: pathTo(next), neverKnown: [], complete: true, limits: null };
      const key = values.join("");
      if (seen.has(key)) continue;
      seen.add(key);
      places.push(next);
    }
  }
  const complete = !cut && allVectors;
  return {
    shortest: null,
    neverKnown: circuit.nets.filter((_, net) => everKnown[net] === 0),
    complete,
    limits: complete
      ? null
      : cut
        ? `stopped after ${settlingsMax} steps tried`
        : `${width} inputs are more than ${inputsMax}: beyond the first step one line was moved at a time`,
  };
}

interface Place {
  readonly values: NetValues;
  readonly before: Place | null;
  readonly vector: string;
}

function stepped(circuit: Circuit, from: NetValues, vector: Uint8Array): NetValues {
  const { after } = settle(circuit, from, vector);
  return circuit.flipFlopData.length === 0 ? after : clock(circuit, after).after;
}

/** All vectors; or from power-up all low and all high, and from elsewhere one line moved. */
function* vectorsFrom(circuit: Circuit, values: NetValues, all: boolean): Generator<Uint8Array> {
  const width = circuit.inputs.length;
  if (all) {
    for (let word = 0; word < 2 ** width; word++)
      yield Uint8Array.from({ length: width }, (_, bit) => ((word >> bit) & 1 ? HIGH : LOW));
    return;
  }
  const now = Uint8Array.from(circuit.inputs, (net) => values[net] as number);
  if (now.includes(UNKNOWN)) {
    yield new Uint8Array(width).fill(LOW);
    yield new Uint8Array(width).fill(HIGH);
    return;
  }
  if (circuit.flipFlopData.length > 0) yield now;
  for (const [place, value] of now.entries()) yield now.with(place, value === LOW ? HIGH : LOW);
}

function pathTo(place: Place): string[] {
  const path: string[] = [];
  for (let at: Place | null = place; at?.before; at = at.before) path.push(at.vector);
  return path.reverse();
}
