import { describe, expect, it } from "vitest";
import { normalQuantile } from "../../../src/measure/statistics/quantiles.ts";
import {
  toleranceFactorOneSided,
  toleranceFactorTwoSided,
} from "../../../src/measure/statistics/tolerance-factor.ts";
import nist from "../../references/statistics/tolerance-factors-nist-7-2-6-3.json" with {
  type: "json",
};

const { certified, data } = nist;
const wafers = { n: data.n, coverage: data.coverage_p, confidence: data.confidence };

describe("tolerance factors", () => {
  it("have the seven digits recomputed for NIST/SEMATECH 7.2.6.3", () => {
    expect(toleranceFactorOneSided(wafers)).toBeCloseTo(
      Number(certified.computed.k1_noncentral_t),
      7,
    );
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
