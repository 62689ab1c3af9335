import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { median, robustSd } from "../../../src/measure/statistics/median.ts";
import { normalQuantile } from "../../../src/measure/statistics/quantiles.ts";
import { robustZ } from "../../../src/measure/statistics/robust-z.ts";

describe("median(values)", () => {
  it("is the middle one, or the mean of the two in the middle", () => {
    expect(median([3, -10, 2])).toBe(2);
    expect(median([10, 9, 1, 2])).toBe(5.5);
    expect(median([7])).toBe(7);
  });

  it("has as many values on either side of it, in any order and with any that are alike", () => {
    const few = fc.integer({ min: -3, max: 3 });
    const any = fc.double({ noNaN: true, min: -1e6, max: 1e6 });
    fc.assert(
      fc.property(fc.array(fc.oneof(few, any), { minLength: 1, maxLength: 40 }), (values) => {
        const kept = [...values];
        const sorted = [...values].sort((one, other) => one - other);
        const at = (sorted.length - 1) / 2;
        const middle = ((sorted[Math.floor(at)] ?? 0) + (sorted[Math.ceil(at)] ?? 0)) / 2;
        expect(median(values)).toBeCloseTo(middle, 6);
        expect(values).toEqual(kept);
      }),
    );
  });

  it("refuses nothing, and what is not a number", () => {
    expect(() => median([])).toThrow(RangeError);
    expect(() => median([1, Number.NaN, 2])).toThrow(RangeError);
  });
});

describe("robustSd(values)", () => {
  it("is the standard deviation of a normal sample: here its quantiles, and two wild values among them", () => {
    const count = 2001;
    const normal = Array.from({ length: count }, (_, at) => normalQuantile((at + 0.5) / count));
    expect(robustSd(normal)).toBeCloseTo(1, 2);
    expect(robustSd([...normal, 1e6, -1e9].map((x) => 7 + 3 * x))).toBeCloseTo(3, 1);
  });
});

describe("robustZ(values)", () => {
  it("is 0.6745 of the distance in MAD, Iglewicz and Hoaglin", () => {
    // Median 4.2, absolute deviations 0.1 0 0.1 0.2 1.3 with median 0.1.
    const z = robustZ([4.1, 4.2, 4.3, 4.4, 2.9]);
    expect(z?.[4]).toBeCloseTo((0.6745 * -1.3) / 0.1, 3);
    expect(z?.[1]).toBe(0);
  });

  it("lets no hair stand out where a reading is less sure", () => {
    const likes = [4.2, 4.2, 4.2, 4.2001];
    expect(robustZ(likes)).toBeNull();
    expect(robustZ(likes, 0.001)?.[3]).toBeCloseTo(0.1, 6);
  });
});
