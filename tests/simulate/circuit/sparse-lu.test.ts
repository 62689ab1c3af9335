import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { SparseLu } from "../../../src/simulate/circuit/sparse-lu.ts";

type Places = readonly (readonly [number, number, number])[];

function determinant(matrix: readonly (readonly number[])[]): number {
  // Leibniz by first row: slow, and shares nothing with elimination.
  const [first = [], ...rest] = matrix;
  if (first.length === 0) return 1;
  return first.reduce((sum, value, column) => {
    const minor = rest.map((row) => row.filter((_, other) => other !== column));
    return sum + (column % 2 === 0 ? 1 : -1) * value * determinant(minor);
  }, 0);
}

function filled(
  size: number,
  places: Places,
): { lu: SparseLu; values: Float64Array; dense: number[][] } {
  const lu = new SparseLu(
    size,
    places.map(([row, column]) => [row, column] as const),
  );
  const values = new Float64Array(lu.spare + 1);
  const dense = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  for (const [row, column, value] of places) {
    values[lu.slot(row, column)] = value;
    (dense[row] ?? [])[column] = value;
  }
  return { lu, values, dense };
}

const diagonal = (size: number, value: number): Places =>
  Array.from({ length: size }, (_, row) => [row, row, value] as const);

/** Tenths, since the doubles a generator likes best are too small to tell a sign by. */
const tenths = (most: number) => fc.integer({ min: -most, max: most }).map((n) => n / 10);

describe("SparseLu", () => {
  it("solves random sparse systems: the solution put back gives the right side", () => {
    const entry = fc.tuple(fc.nat(8), fc.nat(8), tenths(10));
    fc.assert(
      fc.property(
        fc.array(entry, { maxLength: 30 }),
        fc.array(tenths(50), { minLength: 9, maxLength: 9 }),
        (entries, right) => {
          const off = entries.filter(([row, column]) => row !== column);
          const { lu, values, dense } = filled(9, [...off, ...diagonal(9, 12)]);
          lu.factor(values);
          const solution = Float64Array.from(right);
          lu.solve(values, solution);
          dense.forEach((row, index) => {
            const sum = row.reduce(
              (total, value, column) => total + value * (solution[column] ?? 0),
              0,
            );
            expect(sum).toBeCloseTo(right[index] ?? Number.NaN, 9);
          });
        },
      ),
    );
  });

  it("tells the sign of the determinant", () => {
    const entry = fc.tuple(fc.nat(3), fc.nat(3), tenths(10));
    const signs = fc.array(fc.boolean(), { minLength: 4, maxLength: 4 });
    fc.assert(
      fc.property(fc.array(entry, { maxLength: 8 }), signs, (entries, positive) => {
        const off = entries.filter(([row, column]) => row !== column);
        const main = positive.map((one, row) => [row, row, one ? 6 : -6] as const);
        const { lu, values, dense } = filled(4, [...off, ...main]);
        expect(lu.factor(values)).toBe(Math.sign(determinant(dense)));
      }),
    );
  });

  it("reports a vanished pivot as 0", () => {
    const { lu, values } = filled(2, [
      [0, 0, 0],
      [1, 1, 1],
    ]);
    expect(lu.factor(values)).toBe(0);
  });

  it("keeps one spare place for the common node", () => {
    const { lu } = filled(2, diagonal(2, 1));
    expect(lu.slot(2, 0)).toBe(lu.spare);
    expect(() => lu.slot(0, 1)).toThrow(/No place/);
  });
});
