/**
 * Values of nets as sets of levels: bit 1 says that a net may be low, bit 2 that it may be high. Both together
 * are the unknown; the least upper bound of two values is their bitwise or.
 */
import type { Circuit } from "../netlist/circuit.ts";

export const LOW = 1;
export const HIGH = 2;
export const UNKNOWN = 3;
export type Ternary = typeof LOW | typeof HIGH | typeof UNKNOWN;

/** A value for each net of a circuit, by net number. */
export type NetValues = Uint8Array;

/** Whether a net may move in a step: unknown in what its procedure A found. */
export function isMoving(during: NetValues, net: number): boolean {
  return during[net] === UNKNOWN;
}

/** `0`, `1` or `X`. */
export function letterOf(value: number): "0" | "1" | "X" {
  return value === LOW ? "0" : value === HIGH ? "1" : "X";
}

/**
 * Value of a letter: `0`, `1`, or `X` in either case.
 *
 * @throws Error for any other letter
 */
export function ternaryOf(letter: string): Ternary {
  if (letter === "0") return LOW;
  if (letter === "1") return HIGH;
  if (letter === "X" || letter === "x") return UNKNOWN;
  throw new Error(`a value is written 0, 1 or X, not ${JSON.stringify(letter)}`);
}

/** Every net unknown: a board as it is switched on. */
export function allUnknown(circuit: Circuit): NetValues {
  return new Uint8Array(circuit.nets.length).fill(UNKNOWN);
}

/**
 * A vector written in the order of the circuit's inputs, `01X1`.
 *
 * @throws Error when it has another length or other letters
 */
export function inputsOf(circuit: Circuit, letters: string): Ternary[] {
  const { inputs, name } = circuit.netlist;
  if (letters.length !== inputs.length)
    throw new Error(`${name} has ${inputs.length} inputs, a vector of ${letters.length} came`);
  return Array.from(letters, ternaryOf);
}

/** Values of some nets as letters, in the order the nets are given. */
export function lettersOf(values: ArrayLike<number>, nets: ArrayLike<number>): string {
  return Array.from(nets, (net) => letterOf(values[net] ?? UNKNOWN)).join("");
}
