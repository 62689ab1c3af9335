import { describe, expect, it } from "vitest";
import {
  binomialAtLeast,
  binomialAtMost,
  hypergeometricAtMost,
} from "../../../src/measure/statistics/binomial.ts";

/** Exact by whole numbers: the sum of choices over all of them. */
function choose(n: number, k: number): bigint {
  let value = 1n;
  for (let at = 1n; at <= BigInt(k); at += 1n) value = (value * (BigInt(n - k) + at)) / at;
  return k < 0 || k > n ? 0n : value;
}

const ratio = (part: bigint, whole: bigint) => Number((part * 10n ** 18n) / whole) / 1e18;
const counts = (to: number) => Array.from({ length: to + 1 }, (_, at) => at);

describe("binomial chances", () => {
  it("are sums of choices, for a fair coin and a biased one", () => {
    for (const p of [1, 2, 3]) {
      for (const hits of counts(20)) {
        const terms = counts(hits).map((k) => choose(20, k) * BigInt(p ** k * (4 - p) ** (20 - k)));
        const atMost = ratio(
          terms.reduce((sum, term) => sum + term, 0n),
          4n ** 20n,
        );
        expect(binomialAtMost(hits, 20, p / 4)).toBeCloseTo(atMost, 12);
        expect(binomialAtLeast(hits + 1, 20, p / 4)).toBeCloseTo(1 - atMost, 12);
      }
    }
  });

  it("keep their digits far out", () => {
    expect(binomialAtLeast(10, 10, 1e-6) / 1e-60).toBeCloseTo(1, 10);
    expect(binomialAtMost(0, 1_000_000, 1e-4) / Math.exp(1e6 * Math.log1p(-1e-4))).toBeCloseTo(
      1,
      9,
    );
    expect(binomialAtLeast(1, 10_000_000, 1e-9)).toBeCloseTo(
      -Math.expm1(1e7 * Math.log1p(-1e-9)),
      12,
    );
  });

  it("have their edges", () => {
    expect([binomialAtMost(-1, 5, 0.5), binomialAtMost(5, 5, 0.5)]).toEqual([0, 1]);
    expect([binomialAtLeast(0, 5, 0.5), binomialAtLeast(6, 5, 0.5)]).toEqual([1, 0]);
    expect([binomialAtMost(2, 5, 0), binomialAtMost(2, 5, 1)]).toEqual([1, 0]);
    expect([binomialAtLeast(2, 5, 0), binomialAtLeast(2, 5, 1)]).toEqual([0, 1]);
    for (const [hits, trials, p] of [
      [1, -1, 0.5],
      [0.5, 5, 0.5],
      [1, 5, 1.1],
      [1, 5, Number.NaN],
    ] as const) {
      expect(() => binomialAtMost(hits, trials, p)).toThrow(RangeError);
      expect(() => binomialAtLeast(hits, trials, p)).toThrow(RangeError);
    }
  });
});

describe("hypergeometric chance", () => {
  it("is that of Fisher's tea, The Design of Experiments (1935), chapter 2: 1, 16, 36, 16, 1 of 70", () => {
    const found = counts(4).map((hits) =>
      hypergeometricAtMost(hits, { drawn: 4, marked: 4, total: 8 }),
    );
    [1, 17, 53, 69, 70].forEach((orders, at) => {
      expect(found[at]).toBeCloseTo(orders / 70, 12);
    });
  });

  it("is a sum of choices, whatever is more than what", () => {
    for (const [drawn, marked, total] of [
      [7, 3, 20],
      [15, 9, 20],
      [3, 18, 20],
      [20, 4, 20],
    ] as const) {
      for (const hits of counts(drawn)) {
        const ways = counts(hits)
          .map((k) => choose(drawn, k) * choose(total - drawn, marked - k))
          .reduce((sum, term) => sum + term, 0n);
        expect(hypergeometricAtMost(hits, { drawn, marked, total })).toBeCloseTo(
          ratio(ways, choose(total, marked)),
          11,
        );
      }
    }
  });

  it("refuses more than there is", () => {
    expect(() => hypergeometricAtMost(1, { drawn: 9, marked: 1, total: 8 })).toThrow(/Of 8/);
    expect(() => hypergeometricAtMost(-1, { drawn: 1, marked: 1, total: 8 })).toThrow(RangeError);
  });
});
