/** Of several lines that move in one step, the pairs whose order decides, or must not be left open. */
import type { Circuit } from "../netlist/circuit.ts";
import { settle } from "./settle.ts";
import { letterOf, type NetValues, UNKNOWN } from "./values.ts";

export interface RacingPair {
  readonly lines: readonly [string, string];
  /** Where the nets of the finding end when the first line moves alone and then the second; and turned about. */
  readonly firstThenSecond: Readonly<Record<string, "0" | "1" | "X">>;
  readonly secondThenFirst: Readonly<Record<string, "0" | "1" | "X">>;
}

/** Lines moved at once of which pairs are tried; a step of more is named whole. */
const LINES_MAX = 16;

/**
 * Pairs that leave some of these nets unknown when they move together, all other moving lines having moved
 * before or not at all, and known when they move one after the other in at least one order.
 *
 * @param moved inputs, as places among the circuit's inputs; more than 16 give no pairs
 */
export function racingPairs(step: {
  readonly circuit: Circuit;
  readonly from: NetValues;
  readonly inputs: ArrayLike<number>;
  readonly moved: readonly number[];
  readonly nets: readonly number[];
}): RacingPair[] {
  const { circuit, from, inputs, moved, nets } = step;
  if (moved.length < 2 || moved.length > LINES_MAX) return [];
  const moveTo = (base: NetValues, places: readonly number[]): NetValues => {
    const values = circuit.inputs.map((net) => base[net] as number);
    for (const place of places) values[place] = inputs[place] as number;
    return settle(circuit, base, values).after;
  };
  const open = (values: NetValues) => nets.some((net) => values[net] === UNKNOWN);
  const name = (place: number) => circuit.nets[circuit.inputs[place] as number] ?? "?";
  const letters = (values: NetValues) =>
    Object.fromEntries(
      nets.map((net) => [circuit.nets[net] ?? "?", letterOf(values[net] as number)]),
    );
  const pairs: RacingPair[] = [];
  for (const [index, one] of moved.entries()) {
    for (const other of moved.slice(index + 1)) {
      const others = moved.filter((place) => place !== one && place !== other);
      for (const base of others.length === 0 ? [from] : [from, moveTo(from, others)]) {
        if (open(base) || !open(moveTo(base, [one, other]))) continue;
        const firstThenSecond = moveTo(moveTo(base, [one]), [other]);
        const secondThenFirst = moveTo(moveTo(base, [other]), [one]);
        if (open(firstThenSecond) && open(secondThenFirst)) continue;
        pairs.push({
          lines: [name(one), name(other)],
          firstThenSecond: letters(firstThenSecond),
          secondThenFirst: letters(secondThenFirst),
        });
        break;
      }
    }
  }
  return pairs;
}
