/**
 * Gates on words of lanes. A value is two bits, one in each of two words: it may be low, it may be high;
 * both together are unknown. One operation so serves 32 lanes.
 */
import { GATE_TYPES, type GateType } from "../netlist/netlist.ts";

/** What a gate makes of its pins: how they join, and whether the result is turned over. */
const JOINS: Readonly<Record<GateType, { readonly join: Join; readonly inverts: boolean }>> = {
  and: { join: "and", inverts: false },
  nand: { join: "and", inverts: true },
  or: { join: "or", inverts: false },
  nor: { join: "or", inverts: true },
  xor: { join: "xor", inverts: false },
  xnor: { join: "xor", inverts: true },
  not: { join: "and", inverts: true },
  buf: { join: "and", inverts: false },
};
type Join = "and" | "or" | "xor";

/** The same as numbers by gate type, for inner loops: 0 and, 1 or, 2 xor. */
const JOIN_OF_TYPE = Uint8Array.from(GATE_TYPES, (type) =>
  ["and", "or", "xor"].indexOf(JOINS[type].join),
);
const INVERTS_OF_TYPE = Uint8Array.from(GATE_TYPES, (type) => (JOINS[type].inverts ? 1 : 0));

/** Words of the pins of one gate, reused from gate to gate. */
export interface PinWords {
  readonly low: Int32Array;
  readonly high: Int32Array;
}

/**
 * Words of a gate's output, left in place 0 of `pins`.
 *
 * @param type place of the gate's type in `GATE_TYPES`
 * @param count pins, at least one
 * @source three-valued tables as in tests/references/logic/ternary.json
 */
export function evaluateWords(type: number, pins: PinWords, count: number): void {
  const { low, high } = pins;
  let mayBeLow = low[0] as number;
  let mayBeHigh = high[0] as number;
  const join = JOIN_OF_TYPE[type];
  if (join === 0) {
    for (let pin = 1; pin < count; pin++) {
      mayBeLow |= low[pin] as number;
      mayBeHigh &= high[pin] as number;
    }
  } else if (join === 1) {
    for (let pin = 1; pin < count; pin++) {
      mayBeLow &= low[pin] as number;
      mayBeHigh |= high[pin] as number;
    }
  } else {
    for (let pin = 1; pin < count; pin++) {
      const pinLow = low[pin] as number;
      const pinHigh = high[pin] as number;
      const same = (mayBeLow & pinLow) | (mayBeHigh & pinHigh);
      mayBeHigh = (mayBeLow & pinHigh) | (mayBeHigh & pinLow);
      mayBeLow = same;
    }
  }
  const inverts = INVERTS_OF_TYPE[type] === 1;
  low[0] = inverts ? mayBeHigh : mayBeLow;
  high[0] = inverts ? mayBeLow : mayBeHigh;
}
