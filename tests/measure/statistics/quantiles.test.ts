import { describe, expect, it } from "vitest";
import {
  betaQuantile,
  chiSquareQuantile,
  normalCdf,
  normalPdf,
  normalQuantile,
  studentQuantile,
} from "../../../src/measure/statistics/quantiles.ts";
import gum from "../../references/statistics/gum-g4-welch-satterthwaite.json" with { type: "json" };
import table from "../../references/statistics/quantiles-nist-1-3-6-7.json" with { type: "json" };
import { decimalsOf } from "./printed.ts";

/** The printed table, cell by cell, as [column probability, row, printed]. */
function cells(
  rows: Readonly<Record<string, readonly string[]>>,
  columns: readonly string[],
): [p: number, row: number, printed: string][] {
  return Object.entries(rows).flatMap(([row, printed]) =>
    printed.map((cell, at): [number, number, string] => [Number(columns[at]), Number(row), cell]),
  );
}

describe("quantiles against NIST/SEMATECH e-Handbook 1.3.6.7", () => {
  const { certified, data } = table;

  it.each(cells(certified.student_t, data.t_columns_probability))(
    "Student t: p %d at %d degrees of freedom is %s",
    (p, dof, printed) => {
      expect(studentQuantile(p, dof).toFixed(decimalsOf(printed))).toBe(printed);
      expect(studentQuantile(1 - p, dof)).toBeCloseTo(-Number(printed), decimalsOf(printed) - 1);
    },
  );

  it.each(cells(certified.chi_square_upper, data.chi2_columns_probability))(
    "chi-square: p %d at %d degrees of freedom is %s",
    (p, dof, printed) => {
      expect(chiSquareQuantile(p, dof).toFixed(decimalsOf(printed))).toBe(printed);
    },
  );

  it.each(certified.chi_square_lower)("chi-square: $probability at $df is $value", (row) => {
    const found = chiSquareQuantile(Number(row.probability), Number(row.df));
    expect(found.toFixed(decimalsOf(row.value))).toBe(row.value);
  });

  it("normal: the printed upper tail, and fifteen digits of three points", () => {
    const found = data.normal_columns_upper_tail.map((tail, at) =>
      normalQuantile(1 - Number(tail)).toFixed(decimalsOf(certified.normal_upper[at] ?? "")),
    );
    expect(found).toEqual(certified.normal_upper);
    for (const [name, digits] of Object.entries(certified.computed_15_digits)) {
      expect(normalQuantile(Number(name.split("_")[1]))).toBeCloseTo(Number(digits), 14);
    }
  });
});

describe("quantiles at their edges", () => {
  it("agrees with JCGM 100 table G.2, whose last row is the normal", () => {
    const { p95, "p95.45": p9545, p99 } = gum.certified.table_g2_nu16;
    expect(studentQuantile(0.975, 16).toFixed(2)).toBe(p95);
    expect(studentQuantile((1 + 0.9545) / 2, 16).toFixed(2)).toBe(p9545);
    expect(studentQuantile(0.995, 16).toFixed(2)).toBe(p99);
    const known = studentQuantile((1 + 0.9545) / 2, Number.POSITIVE_INFINITY);
    expect(known.toFixed(2)).toBe(gum.certified["table_g2_infinite_p95.45"]);
    expect(studentQuantile(0.975, Number.POSITIVE_INFINITY)).toBe(normalQuantile(0.975));
  });

  it("goes over to the normal without a step", () => {
    const below = studentQuantile(0.975, 999_999);
    const above = studentQuantile(0.975, 1_000_001);
    expect(Math.abs(below / above - 1)).toBeLessThan(1e-6);
    // Hill (1970), CACM 13, algorithm 396, has the same first term; 1.95996636 at a million.
    expect(above).toBeCloseTo(1.959966357, 8);
  });

  it("takes degrees of freedom that are not whole, in closed form at 2 and continuous beside", () => {
    // t at two degrees of freedom is (2p-1)/sqrt(2p(1-p)): Abramowitz and Stegun 26.7, by inversion.
    expect(studentQuantile(0.975, 2)).toBeCloseTo(0.95 / Math.sqrt(2 * 0.975 * 0.025), 8);
    const [left, right] = [studentQuantile(0.975, 1.999), studentQuantile(0.975, 2.001)];
    expect(left).toBeGreaterThan(studentQuantile(0.975, 2));
    expect(right).toBeLessThan(studentQuantile(0.975, 2));
    expect(left - right).toBeLessThan(0.01);
  });

  it("gives the normal's density and distribution and their inverse", () => {
    expect(normalPdf(0)).toBeCloseTo(0.398942280401433, 15);
    expect(normalPdf(1) / normalPdf(0)).toBeCloseTo(Math.exp(-0.5), 15);
    expect(normalCdf(0)).toBeCloseTo(0.5, 15);
    for (const p of [1e-6, 0.023, 0.5, 0.9, 0.9999]) {
      expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 14);
    }
  });

  it("inverts a beta in closed form", () => {
    // With one shape at 1 the distribution is a power.
    expect(betaQuantile(0.975, 1, 20)).toBeCloseTo(1 - 0.025 ** (1 / 20), 10);
    expect(betaQuantile(0.025, 7, 1)).toBeCloseTo(0.025 ** (1 / 7), 10);
    expect(betaQuantile(0.5, 3, 3)).toBeCloseTo(0.5, 8);
  });

  it("refuses what has no answer", () => {
    for (const p of [0, 1, -0.1, Number.NaN]) {
      expect(() => normalQuantile(p)).toThrow(RangeError);
      expect(() => studentQuantile(p, 3)).toThrow(RangeError);
    }
    for (const dof of [0, -1, Number.NaN]) {
      expect(() => studentQuantile(0.975, dof)).toThrow(/degrees of freedom/);
      expect(() => chiSquareQuantile(0.975, dof)).toThrow(/degrees of freedom/);
      expect(() => betaQuantile(0.975, dof, 1)).toThrow(/shape/);
      expect(() => betaQuantile(0.975, 1, dof)).toThrow(/shape/);
    }
  });
});
