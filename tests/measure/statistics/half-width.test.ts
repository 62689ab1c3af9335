/** The half-width of a sum against its two ends, and against plain numerical integration between. */
import jstat from "jstat";
import { describe, expect, it } from "vitest";
import { halfWidth95 } from "../../../src/measure/statistics/half-width.ts";
import table from "../../references/statistics/quantiles-nist-1-3-6-7.json" with { type: "json" };

const KNOWN = Number.POSITIVE_INFINITY;

/** Probability of |rectangular + rest| <= h by Simpson's rule over the rectangle. */
function integratedCoverage(h: number, halfWidth: number, cdf: (x: number) => number): number {
  const strips = 2000 + 20 * Math.ceil(halfWidth);
  const step = (2 * halfWidth) / strips;
  let sum = 0;
  for (let at = 0; at <= strips; at += 1) {
    const weight = at === 0 || at === strips ? 1 : at % 2 === 1 ? 4 : 2;
    const x = -halfWidth + at * step;
    sum += weight * (cdf(h - x) - cdf(-h - x));
  }
  return (sum * step) / 3 / (2 * halfWidth);
}

/** The standard normal's distribution by Simpson's rule too: nothing shared with what is tested. */
function normal(x: number): number {
  if (Math.abs(x) > 8) return x < 0 ? 0 : 1;
  const strips = 400;
  const step = (x + 8) / strips;
  let sum = 0;
  for (let at = 0; at <= strips; at += 1) {
    const weight = at === 0 || at === strips ? 1 : at % 2 === 1 ? 4 : 2;
    sum += weight * Math.exp(-((-8 + at * step) ** 2) / 2);
  }
  return (sum * step) / 3 / Math.sqrt(2 * Math.PI);
}

describe("halfWidth95", () => {
  it("has k = 1.65 for a lone rectangular term", () => {
    // EA-4/02 M:2022, example S9, number from memory; in closed form 0.95 sqrt 3.
    const u = 1 / Math.sqrt(3);
    const half = halfWidth95({ rectangularV: 1, restV: 0, restDof: KNOWN });
    expect((half / u).toFixed(2)).toBe("1.65");
    expect(half).toBe(0.95);
    expect(halfWidth95({ rectangularV: 1, restV: 1e-7, restDof: 2 })).toBeCloseTo(0.95, 9);
  });

  it("has k of Student's t for a lone rest", () => {
    const column = table.data.t_columns_probability.indexOf("0.975");
    for (const [dof, row] of Object.entries(table.certified.student_t)) {
      const half = halfWidth95({ rectangularV: 0, restV: 0.001, restDof: Number(dof) });
      expect((half * 1000).toFixed(3)).toBe(row[column]);
    }
    const known = halfWidth95({ rectangularV: 1e-9, restV: 2, restDof: KNOWN });
    expect(known / 2).toBeCloseTo(1.959963984540054, 12);
  });

  it.each([0.0011, 0.05, 0.3, 1, 2, 5, 30, 200])(
    "holds its level for a rectangle %d times as wide as a normal rest",
    (a) => {
      const half = halfWidth95({ rectangularV: a, restV: 1, restDof: KNOWN });
      expect(integratedCoverage(half, a, normal)).toBeCloseTo(0.95, 7);
    },
  );

  it.each([1, 2, 3, 4.7, 16, 60])(
    "errs to the wide side, and little, with %d degrees of freedom behind the rest",
    (dof) => {
      const cdf = (x: number) => jstat.studentt.cdf(x, dof);
      const allowed = dof < 3 ? 1.12 : 1.05;
      for (const a of [0.1, 0.5, 1, 2, 5, 10, 20]) {
        const half = halfWidth95({ rectangularV: a, restV: 1, restDof: dof });
        expect(integratedCoverage(half, a, cdf)).toBeGreaterThan(0.95 - 1e-5);
        expect(integratedCoverage(half / allowed, a, cdf)).toBeLessThan(0.95);
      }
    },
  );

  it("does not step where a small rectangle is treated as part of the rest", () => {
    const at = (a: number) => halfWidth95({ rectangularV: a, restV: 1, restDof: KNOWN });
    expect(Math.abs(at(0.001 * 1.0001) - at(0.001 * 0.9999))).toBeLessThan(1e-9);
  });

  it("scales with its unit and is 0 without error", () => {
    const small = halfWidth95({ rectangularV: 2e-6, restV: 1e-6, restDof: 5 });
    const large = halfWidth95({ rectangularV: 2, restV: 1, restDof: 5 });
    expect(small * 1e6).toBeCloseTo(large, 9);
    expect(halfWidth95({ rectangularV: 0, restV: 0, restDof: KNOWN })).toBe(0);
  });

  it("refuses terms that are none", () => {
    for (const bad of [-1, Number.NaN, KNOWN]) {
      expect(() => halfWidth95({ rectangularV: bad, restV: 1, restDof: 3 })).toThrow(RangeError);
      expect(() => halfWidth95({ rectangularV: 1, restV: bad, restDof: 3 })).toThrow(RangeError);
    }
    expect(() => halfWidth95({ rectangularV: 1, restV: 1, restDof: 0 })).toThrow(RangeError);
  });
});
