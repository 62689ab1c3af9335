/** Multipliers of two words of any width, row by row from half and full adders of NAND gates. */
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import type { Gate, GateType } from "../../../src/logic/netlist/netlist.ts";

/** @param width bits of each factor, 2 or more; 16 gives 2352 gates */
export function arrayMultiplier(width: number): Circuit {
  const gates: Gate[] = [];
  const add = (type: GateType, ...inputs: string[]): string => {
    const output = `N${gates.length}`;
    gates.push({ name: output, type, inputs, output });
    return output;
  };
  /** Exclusive or of four NANDs, and the first of them, low when both inputs are high. */
  const half = (a: string, b: string) => {
    const both = add("nand", a, b);
    const sum = add("nand", add("nand", a, both), add("nand", b, both));
    return { sum, both };
  };
  const halfAdder = (a: string, b: string) => {
    const { sum, both } = half(a, b);
    return { sum, carry: add("not", both) };
  };
  const fullAdder = (a: string, b: string, c: string) => {
    const first = half(a, b);
    const second = half(first.sum, c);
    return { sum: second.sum, carry: add("nand", first.both, second.both) };
  };
  const bits = (name: string) => Array.from({ length: width }, (_, bit) => `${name}${bit}`);
  const [a, b] = [bits("A"), bits("B")];
  const products: string[] = [];
  let above: string[] = [];
  for (const factor of b) {
    let carry: string | null = null;
    const row: string[] = [];
    for (const [place, bit] of a.entries()) {
      const addends = [add("and", bit, factor), above[place], carry].filter((net) => net != null);
      const [x = "", y, z] = addends;
      const added: { sum: string; carry: string | null } =
        y === undefined
          ? { sum: x, carry: null }
          : z === undefined
            ? halfAdder(x, y)
            : fullAdder(x, y, z);
      row.push(added.sum);
      carry = added.carry;
    }
    if (carry !== null) row.push(carry);
    products.push(row[0] ?? "");
    above = row.slice(1);
  }
  return compileCircuit({
    name: `${width} by ${width} multiplier`,
    inputs: [...a, ...b],
    outputs: [...products, ...above],
    gates,
    flipFlops: [],
  });
}
