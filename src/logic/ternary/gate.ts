/** What a gate makes of values that may be unknown. */
import type { Circuit } from "../netlist/circuit.ts";
import { GATE_TYPES } from "../netlist/netlist.ts";
import { HIGH, LOW, UNKNOWN } from "./values.ts";

const JOIN_AND = 0;
const JOIN_OR = 1;
const JOIN_XOR = 2;
const JOIN_OF_TYPE = Uint8Array.from(GATE_TYPES, (type) =>
  type === "or" || type === "nor"
    ? JOIN_OR
    : type === "xor" || type === "xnor"
      ? JOIN_XOR
      : JOIN_AND,
);
const INVERTS_OF_TYPE = Uint8Array.from(GATE_TYPES, (type) =>
  type === "nand" || type === "nor" || type === "xnor" || type === "not" ? 1 : 0,
);

/**
 * Output of gate g: known only where every way to replace unknown pins by low or high gives that value.
 * A net that stands at two pins counts as two, as it would with a delay in each wire.
 */
export function gateValue(circuit: Circuit, gate: number, values: ArrayLike<number>): number {
  const { pinStart, pinNet, gateType } = circuit;
  const from = pinStart[gate] as number;
  const to = pinStart[gate + 1] as number;
  const type = gateType[gate] as number;
  const join = JOIN_OF_TYPE[type];
  let value = values[pinNet[from] as number] as number;
  for (let at = from + 1; at < to; at++) {
    const pin = values[pinNet[at] as number] as number;
    if (join === JOIN_AND) value = ((value | pin) & LOW) | (value & pin & HIGH);
    else if (join === JOIN_OR) value = (value & pin & LOW) | ((value | pin) & HIGH);
    else if (value === UNKNOWN || pin === UNKNOWN) value = UNKNOWN;
    else value = value === pin ? LOW : HIGH;
  }
  return INVERTS_OF_TYPE[type] === 1 ? ((value & LOW) << 1) | ((value & HIGH) >> 1) : value;
}
