/** A line through meter points: what it finds, how sure it is, and what it will not take. */
import { describe, expect, it } from "vitest";
import type { CalibrationPoint } from "../../src/measure/calibration-point.ts";
import { channelCode, channelVolts } from "../../src/measure/channel-scale.ts";
import {
  type CalibratedWiring,
  fitCalibration,
  partLimits,
  pointDoubt,
} from "../../src/measure/fit-calibration.ts";

/** 1 M over 100 k: 55 V at 5 V of reference, 53.7 mV a code. */
const Q: CalibratedWiring = {
  name: "Q",
  divider: { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null },
  referenceV: 5,
};
const BIAS: CalibratedWiring = {
  name: "bias.board",
  divider: { topOhm: 100_000, bottomOhm: 22_000, pullUpOhm: 15_000 },
  referenceV: 5,
};
const LIMITS = partLimits(undefined, false);
const STRAIGHT = { ...LIMITS, linearitySteps: 0 };

/** A point whose codes are spread evenly about their mean. */
function point(meterV: number, code: number, spread = 2): CalibrationPoint {
  const half = spread / 2;
  return { meterV, digitV: 0.001, code, count: 16, min: code - half, max: code + half };
}

function lineOf(points: readonly CalibrationPoint[], wiring = Q, limits = STRAIGHT) {
  const result = fitCalibration(points, wiring, limits);
  if (!result.ok) throw new Error(result.why);
  return result.line;
}

function whyNot(points: readonly CalibrationPoint[], wiring = Q): string {
  const result = fitCalibration(points, wiring, LIMITS);
  return result.ok ? "taken" : result.why;
}

describe("fitCalibration()", () => {
  it("gives the line that two points lay down, by hand", () => {
    // Codes 100 and 800 are 5.37109375 V and 42.96875 V by the marked 11:1 and 5 V.
    const { gain, offsetV, lowV, highV, residualV } = lineOf([point(5.9, 100), point(46.9, 800)]);
    expect(gain).toBeCloseTo((46.9 - 5.9) / (42.96875 - 5.37109375), 10);
    expect(offsetV).toBeCloseTo(5.9 - 5.37109375 * (41 / 37.59765625), 10);
    expect([lowV, highV]).toEqual([5.9, 46.9]);
    expect(residualV).toBeLessThan(1e-9);
  });

  it("knows from quantisation alone how sure two points are, by hand", () => {
    // Half a step of 53.7109375 mV and half a digit of 1 mV, both rectangular, no noise seen, at both points.
    const { fit } = lineOf([point(5.37109375, 100, 0), point(42.96875, 800, 0)]);
    const u = Math.hypot(0.0537109375 / 2, 0.0005) / Math.sqrt(3);
    expect(fit.gainU).toBeCloseTo((u * Math.SQRT2) / 37.59765625, 9);
    expect(fit.dof).toBeNull();
    // Half-way between its points a line is surer than a point by the root of two.
    const middle = (5.37109375 + 42.96875) / 2;
    const at = fit.offsetU ** 2 + 2 * middle * fit.covariance + (middle * fit.gainU) ** 2;
    expect(Math.sqrt(at)).toBeCloseTo(u / Math.SQRT2, 9);
  });

  it("counts how crooked the converter may be with every point", () => {
    const points = [point(5.37109375, 100), point(42.96875, 800)];
    const bowed = lineOf(points, Q, { ...STRAIGHT, linearitySteps: 2 });
    expect(bowed.fit.gainU).toBeGreaterThan(3 * lineOf(points).fit.gainU);
  });

  it("is less sure where points scatter more than is known of them, with their degrees of freedom", () => {
    const on = [100, 300, 500, 700, 900].map((code) => point((code * 55) / 1024, code));
    const off = on.map((one, n) => ({ ...one, meterV: one.meterV + (n % 2 === 0 ? 0.3 : -0.3) }));
    expect(lineOf(on).fit.dof).toBeNull();
    const scattered = lineOf(off);
    expect(scattered.fit.dof).toBe(3);
    expect(scattered.fit.gainU).toBeGreaterThan(5 * lineOf(on).fit.gainU);
    expect(scattered.residualV).toBeGreaterThan(0.2);
  });

  it("takes the reference as it was measured at each point", () => {
    // 9 % high: the same volts give fewer codes, and the marked divider is right all the same.
    const codes = [100, 700];
    const points = codes.map((code) => ({
      ...point((code * 11 * 5.45) / 1024, code),
      referenceV: 5.45,
    }));
    expect(lineOf(points, Q, partLimits(undefined, true)).gain).toBeCloseTo(1, 9);
    expect(lineOf(points.map(({ referenceV, ...rest }) => rest)).gain).toBeCloseTo(1.09, 9);
  });

  it("counts what the reading of the reference was off by with every point", () => {
    const at = (code: number, referenceU: number) => ({
      ...point((code * 55) / 1024, code),
      referenceV: 5,
      referenceU,
    });
    const sure = lineOf([at(100, 0), at(800, 0)]).fit.gainU;
    // 20 mV of 5 V are 0.4 % of 42.97 V at the high point, far above the rest, over a span of 37.6 V.
    const unsure = lineOf([at(100, 0.02), at(800, 0.02)]).fit.gainU;
    expect(unsure).toBeGreaterThan(3 * sure);
    const expected = (0.004 * Math.hypot(42.96875, 5.37109375)) / 37.59765625;
    expect(Math.sqrt(unsure ** 2 - sure ** 2)).toBeCloseTo(expected, 6);
  });

  it("takes out what the reference did between the points, and lets the offset go with it after", () => {
    // Bottom resistor 4 % low, reference 5.2 V at the low point, 5.3 V at the high one, 5.4 V later.
    const nodeV = (code: number, referenceV: number) =>
      referenceV * ((code / 1024) * (1 + 100 / 21.12 + 100 / 15) - 100 / 15);
    const points = [
      { ...point(nodeV(100, 5.2), 100), referenceV: 5.2 },
      { ...point(nodeV(900, 5.3), 900), referenceV: 5.3 },
    ];
    const line = lineOf(points, BIAS, partLimits(undefined, true));
    expect(line.referenceV).toBeCloseTo(5.25, 9);
    const calibration = { ...line, meter: { part: 0, volts: 0 } };
    const later = { divider: BIAS.divider, referenceV: 5.4, calibration };
    expect(channelVolts(300, later)).toBeCloseTo(nodeV(300, 5.4), 9);
    expect(channelCode(nodeV(300, 5.4), later)).toBe(300);
  });

  it("calibrates a divider that reads below common", () => {
    // V = 5 (code / 1024 * (1 + 100/22 + 100/15) - 100/15)
    const volts = (code: number) => 5 * ((code / 1024) * (1 + 100 / 22 + 100 / 15) - 100 / 15);
    const { gain, offsetV } = lineOf([point(volts(100), 100), point(volts(900), 900)], BIAS);
    expect(gain).toBeCloseTo(1, 9);
    expect(offsetV).toBeCloseTo(0, 9);
  });
});

describe("fitCalibration() refuses", () => {
  it("a single point", () => {
    expect(whyNot([point(5, 93)])).toMatch(/^Q: 1 points, and a line needs two\. Take a low/);
  });

  it("two equal points", () => {
    expect(whyNot([point(5, 93), point(5, 93)])).toBe(
      "Q: all points are at 5 V. Take one at other volts, 11 V away or more.",
    );
  });

  it("points too near each other, with the share that is asked", () => {
    expect(whyNot([point(5, 93), point(15.9, 296)])).toMatch(
      /^Q: the points span 10\.9 V, too near .* 0 V to 55 V\. Take them 11 V apart/,
    );
    expect(whyNot([point(5, 93), point(16.1, 300)])).toBe("taken");
  });

  it("codes at the end of the converter, at either end", () => {
    const high = { ...point(55, 1023, 0), min: 1023, max: 1023 };
    expect(whyNot([point(5, 93), high])).toMatch(
      /^Q: the converter is at its end at 55 V; it reads 0 V/,
    );
    const low = { ...point(0.01, 0, 0), min: 0, max: 0 };
    expect(whyNot([low, point(40, 745)])).toMatch(/at its end at 0\.01 V/);
  });

  it("what is no number, and codes that cannot belong together", () => {
    expect(whyNot([point(Number.NaN, 93), point(40, 745)])).toMatch(/not a number/);
    expect(whyNot([{ ...point(5, 93), min: 95, max: 96 }, point(40, 745)])).toMatch(
      /cannot belong together/,
    );
  });

  it("a meter on another range, exchanged leads and another lead, with what parts explain", () => {
    const volts = (meterV: number) => pointDoubt(point(meterV, 745), Q, LIMITS);
    expect(volts(40)).toBeNull();
    // 9 % of reference and 5 % of each resistor.
    expect(volts(47)).toBeNull();
    expect(volts(0.04)).toMatch(/the meter says 0\.04 V, the codes say 40\.015 V/);
    expect(volts(-40)).toMatch(/exchanged/);
    expect(volts(5)).toMatch(/another lead is on the supply/);
  });

  it("a gain that parts do not make, though each point alone would pass", () => {
    expect(whyNot([point(3.7, 93), point(16.6, 255)])).toMatch(
      /^Q: gain 1\.48\d\d is beyond what parts explain \(0\.80\d to 1\.22\d\)\. Look whether/,
    );
  });

  it("codes that stand still while the supply moves", () => {
    // Each point is near enough for the parts there are.
    const result = fitCalibration([point(33, 745), point(48, 746)], Q, LIMITS);
    expect(result).toMatchObject({
      ok: false,
      why: expect.stringMatching(/^Q: the codes did not move with the supply/),
    });
  });
});

describe("partLimits()", () => {
  it("leaves less to a reference that is measured, and no less than bad parts to a good file", () => {
    const accuracy = { resistorPart: 0.01, referencePart: 0.05, linearitySteps: 1 };
    expect(partLimits(accuracy, false)).toEqual({
      resistorPart: 0.05,
      referencePart: 0.12,
      linearitySteps: 1,
    });
    expect(partLimits({ ...accuracy, resistorPart: 0.1 }, true)).toMatchObject({
      resistorPart: 0.1,
      referencePart: 0.02,
    });
  });
});
