import { describe, expect, it } from "vitest";
import { sourceResistance } from "../../src/measure/source-resistance.ts";

describe("source resistance from a known load", () => {
  // Thevenin: 45 V behind 50 k with 450 k to common stand at 45 x 450 / 500 = 40.5 V.
  const pair = { openV: 45, loadedV: 40.5, loadOhm: 450_000, towardsV: 0, stepV: 0.027 };

  it("is what divides the volts", () => {
    const measured = sourceResistance(pair);
    expect(measured?.ohm).toBeCloseTo(50_000, 6);
    // Twice 27 mV of 4.5 V moved.
    expect(measured?.halfOhm).toBeCloseTo(600, 6);
  });

  it("counts where the load's other end goes", () => {
    // A low of 10 V behind 10 k pulled towards 48 V through 370 k: 10 + 38 x 10 / 380 = 11 V.
    const measured = sourceResistance({
      ...pair,
      openV: 10,
      loadedV: 11,
      loadOhm: 370_000,
      towardsV: 48,
    });
    expect(measured?.ohm).toBeCloseTo(10_000, 6);
  });

  it("is none when the net moved the wrong way, or by less than its steps", () => {
    expect(sourceResistance({ ...pair, loadedV: 45.5 })).toBeNull();
    expect(sourceResistance({ ...pair, loadedV: 44.97 })).toBeNull();
    expect(sourceResistance({ ...pair, openV: 0.05, loadedV: 0.03 })).toBeNull();
  });
});
