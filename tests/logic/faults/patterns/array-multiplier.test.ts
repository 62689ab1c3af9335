/** The circuits that growth is measured on are what they are said to be. */
import { expect, it } from "vitest";
import { collapse } from "../../../../src/logic/faults/collapse.ts";
import { faultList } from "../../../../src/logic/faults/fault-list.ts";
import { PatternFaults } from "../../../../src/logic/faults/patterns/pattern-faults.ts";
import { patternSet } from "../../../../src/logic/faults/patterns/pattern-set.ts";
import { arrayMultiplier } from "../../../bench/grading-speed/array-multiplier.ts";

it.each([2, 3, 4])("arrayMultiplier(%i) multiplies every pair of its factors", (width) => {
  const circuit = arrayMultiplier(width);
  const bits = (value: number) => Array.from({ length: width }, (_, bit) => (value >> bit) & 1);
  const pairs = Array.from({ length: 4 ** width }, (_, index) => ({
    a: index % 2 ** width,
    b: index >> width,
  }));
  const rows = pairs.map(({ a, b }) => [...bits(a), ...bits(b)].join(""));
  const { good, wordsEach } = new PatternFaults(collapse(faultList(circuit))).detect(
    patternSet(rows),
  );
  const products = pairs.map((_, row) =>
    [...circuit.outputs]
      .map((net, bit) => (((good[net * wordsEach + (row >> 5)] ?? 0) >>> row) & 1) << bit)
      .reduce((sum, value) => sum + value, 0),
  );
  expect(products).toEqual(pairs.map(({ a, b }) => a * b));
});
