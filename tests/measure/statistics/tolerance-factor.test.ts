import { describe, expect, it } from "vitest";
import { chiSquareQuantile, normalQuantile } from "../../../src/measure/statistics/quantiles.ts";
import {
  toleranceFactorOneSided,
  toleranceFactorTwoSided,
} from "../../../src/measure/statistics/tolerance-factor.ts";
import nist from "../../references/statistics/tolerance-factors-nist-7-2-6-3.json" with {
  type: "json",
};

const { certified, data } = nist;
const wafers = { n: data.n, coverage: data.coverage_p, confidence: data.confidence };

describe("tolerance factors, NIST/SEMATECH 7.2.6.3", () => {
  it("one-sided by the noncentral t", () => {
    const { t_0_99, k1 } = {
      t_0_99: certified.one_sided_noncentral_t["t_0.99_42_delta"],
      k1: certified.one_sided_noncentral_t.k1,
    };
    const factor = toleranceFactorOneSided(wafers);
    expect(factor.toFixed(4)).toBe(k1);
    expect((factor * Math.sqrt(wafers.n)).toFixed(5)).toBe(t_0_99);
    expect(factor).toBeCloseTo(Number(certified.computed.k1_noncentral_t), 7);
    const six = toleranceFactorOneSided({ ...wafers, n: data.second_case_n });
    expect(six.toFixed(4)).toBe(certified.n6_one_sided.noncentral_t);
  });

  it("two-sided: the exact factor, and Howe's beside it from the same quantiles", () => {
    expect(toleranceFactorTwoSided(wafers).toFixed(4)).toBe(certified.computed.k2_exact_two_sided);
    const dof = wafers.n - 1;
    const z = normalQuantile((1 + wafers.coverage) / 2);
    const chiSquare = chiSquareQuantile(1 - wafers.confidence, dof);
    expect(z.toFixed(3)).toBe(certified.two_sided_howe["z_0.05"]);
    expect(chiSquare.toFixed(3)).toBe(certified.two_sided_howe["chi2_0.01_42"]);
    const howe = Math.sqrt((dof * (1 + 1 / wafers.n) * z ** 2) / chiSquare);
    expect(howe.toFixed(3)).toBe(certified.two_sided_howe.k2);
    expect(Math.abs(howe / toleranceFactorTwoSided(wafers) - 1)).toBeLessThan(0.01);
  });

  it("at the smallest samples: Odeh and Owen 1980 and ISO 16269-6, values from memory", () => {
    const two = { n: 2, coverage: 0.9, confidence: 0.95 };
    expect(toleranceFactorOneSided(two).toFixed(3)).toBe("20.581");
    expect(toleranceFactorTwoSided(two).toFixed(3)).toBe("31.092");
    const far = { n: 2, coverage: 0.99, confidence: 0.99 };
    expect(toleranceFactorOneSided(far).toFixed(3)).toBe("185.617");
  });

  it("comes down to the normal's own in a large sample, and needs two values", () => {
    const many = { n: 100_000, coverage: 0.95, confidence: 0.5 };
    expect(toleranceFactorTwoSided(many)).toBeCloseTo(normalQuantile(0.975), 3);
    expect(toleranceFactorOneSided(many)).toBeCloseTo(normalQuantile(0.95), 3);
    for (const wrong of [{ n: 1 }, { coverage: 1 }, { confidence: 0 }]) {
      expect(() => toleranceFactorOneSided({ ...wafers, ...wrong })).toThrow(RangeError);
      expect(() => toleranceFactorTwoSided({ ...wafers, ...wrong })).toThrow(RangeError);
    }
  });
});
