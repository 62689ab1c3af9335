/** Budgets against JCGM 100 and EA-4/02, and against what a reading's own codes say. */
import { describe, expect, it } from "vitest";
import type { PlannedAccuracy, PlannedChannel } from "../../../src/events/plan.ts";
import { toReading } from "../../../src/measure/reading.ts";
import { combineTerms } from "../../../src/measure/uncertainty/budget.ts";
import { evaluateReading } from "../../../src/measure/uncertainty/evaluate.ts";
import { samplingTerms } from "../../../src/measure/uncertainty/sampling-terms.ts";
import { measuredReference } from "../../../src/measure/uncertainty/scale-terms.ts";
import { arcsineTerm, normalTerm, rectangularTerm } from "../../../src/measure/uncertainty/term.ts";

describe("terms", () => {
  it("have the standard uncertainty of their shape (JCGM 100, 4.3.7 and 4.3.5)", () => {
    expect(rectangularTerm("meter", Math.sqrt(3), "").u).toBeCloseTo(1, 12);
    expect(arcsineTerm("hum", Math.SQRT2, "").u).toBeCloseTo(1, 12);
  });
});

describe("a combined budget", () => {
  it("of one rectangular term has k = 1.65 (EA-4/02, supplement; 1.645 by its arithmetic)", () => {
    expect(combineTerms([rectangularTerm("meter", 1, "")]).k).toBeCloseTo(1.645, 3);
  });

  it("of one estimate from ten values has Student's t (JCGM 100, table G.2: 2.26 at 9)", () => {
    expect(combineTerms([normalTerm("noise", 1, "", 9)]).k).toBeCloseTo(2.26, 2);
  });

  it("of many alike has k near 1.96, and the root of the sum of squares", () => {
    const terms = Array.from({ length: 12 }, () => rectangularTerm("divider", 1, ""));
    const { u, k } = combineTerms(terms);
    expect(u).toBeCloseTo(2, 12);
    expect(k).toBeGreaterThan(1.93);
    expect(k).toBeLessThan(1.97);
  });

  it("of nothing is nothing", () => {
    expect(combineTerms([])).toMatchObject({ u: 0, expandedV: 0, k: 0 });
  });
});

const codes = (min: number, max: number, count = 16) => ({
  channel: "Q",
  sum: ((min + max) / 2) * count,
  count,
  min,
  max,
});

describe("samples", () => {
  it("that do not move claim no more than half a step", () => {
    const [noise, step] = samplingTerms(codes(200, 200), 0.05, 0);
    expect(noise?.u).toBe(0);
    expect(step?.halfV).toBeCloseTo(0.025, 12);
  });

  it("that sit on two codes still claim no more: noise too small to average the step", () => {
    expect(samplingTerms(codes(200, 201), 0.05, 0)[1]?.halfV).toBeCloseTo(0.025, 12);
  });

  it("with noise over several codes average the step, and count their noise by its range", () => {
    const [noise, step] = samplingTerms(codes(198, 202), 0.05, 0);
    // d2 of 16 is 3.532 and d3 0.750 (ASTM E2587); their root sum square makes the variance unbiased.
    expect(noise?.u).toBeCloseTo((0.05 * 4) / Math.hypot(3.532, 0.75) / 4, 4);
    expect(step?.halfV).toBeLessThan(0.01);
  });

  it("with a swing that is known as hum take none of it for noise", () => {
    expect(samplingTerms(codes(198, 202), 0.05, 2)[0]?.u).toBe(0);
  });

  it("of one conversion tell nothing of their noise", () => {
    const terms = samplingTerms(codes(200, 200, 1), 0.05, 0);
    expect(terms).toHaveLength(1);
    expect(terms[0]?.halfV).toBeCloseTo(0.05, 12);
  });
});

const channel: PlannedChannel = {
  name: "Q",
  number: 7,
  reads: { kind: "net", net: "Q" },
  divider: { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null },
  referenceV: 5,
  source: { lowOhm: 11_000, highOhm: 44_000, part: 0 },
};
const accuracy: PlannedAccuracy = {
  resistorPart: 0.01,
  referencePart: 0.05,
  linearitySteps: 2,
  perK: 0,
  spanK: 0,
};

function evaluated(changes: Partial<PlannedChannel> = {}, overMains = false) {
  const now = { reference: null, ground: null };
  const at = { ...channel, ...changes };
  return evaluateReading(toReading(codes(512, 512), at, true), {
    channel: at,
    accuracy,
    now,
    overMains,
    classOf: () => "low",
  });
}

function termOf(name: string, changes: Partial<PlannedChannel> = {}, overMains = false) {
  return evaluated(changes, overMains)?.budget.terms.filter((one) => one.name === name) ?? [];
}

describe("an evaluated reading", () => {
  // Code 512 of 1024 at 55 V full scale is 27.5 V, and half a step of 53.7 mV above it.
  it("stands in the middle of its step and is freed of its loading", () => {
    expect(evaluated()?.volts).toBeCloseTo((27.5 + 0.02686) * (1 + 11_000 / 1_100_000), 3);
  });

  it("counts each resistor at its tolerance: 2 t (1 - k) / root 3 for both (levels-and-dividers 2)", () => {
    const terms = termOf("divider");
    expect(terms).toHaveLength(2);
    for (const { halfV } of terms) {
      // 1 % of a resistor moves the ratio by 1 % of (1 - k) = 10 / 11; the correction magnifies by 1.01.
      expect(halfV).toBeCloseTo(27.5 * 0.01 * (10 / 11) * 1.01, 2);
    }
  });

  it("counts a reference that is not measured in full", () => {
    expect(termOf("reference")[0]?.halfV).toBeCloseTo(27.5 * 0.05 * 1.01, 3);
  });

  it("counts a known source in full, and on a channel calibrated with it how far it may have gone", () => {
    const raw = { channel: "reference", sum: 8192, count: 16, min: 512, max: 512 };
    const reference = measuredReference(raw, { part: 0.004, driftPart: 0.001 }, accuracy);
    const half = (calibration?: PlannedChannel["calibration"]) => {
      const at = calibration === undefined ? channel : { ...channel, calibration };
      const facts = {
        channel: at,
        accuracy,
        now: { reference, ground: null },
        overMains: false,
        classOf: () => "low" as const,
      };
      const terms = evaluateReading(toReading(codes(512, 512), at, true), facts)?.budget.terms;
      return terms?.find(({ name }) => name === "reference")?.halfV;
    };
    const line = {
      gain: 1,
      offsetV: 0,
      fit: { gainU: 0, offsetU: 0, covariance: 0, dof: null },
      meter: { part: 0, volts: 0 },
      lowV: 0,
      highV: 50,
      residualV: 0,
    };
    expect(half()).toBeCloseTo(27.5 * 0.004 * 1.01, 5);
    expect(half({ ...line, referenceV: 5 })).toBeCloseTo(27.5 * 0.001 * 1.01, 5);
    // A calibration that knew nothing of the source has nothing of it in its gain.
    expect(half(line)).toBeCloseTo(27.5 * 0.004 * 1.01, 5);
  });

  it("of a calibrated channel counts fit and meter instead of its resistors", () => {
    const calibration = {
      gain: 1,
      offsetV: 0,
      fit: { gainU: 0.001, offsetU: 0.03, covariance: 0, dof: null },
      meter: { part: 0.005, volts: 0.01 },
      lowV: 0,
      highV: 50,
      residualV: 0,
    };
    expect(termOf("divider", { calibration })).toEqual([]);
    expect(termOf("fit", { calibration })[0]?.u).toBeCloseTo(Math.hypot(0.03, 0.0275) * 1.01, 4);
    expect(termOf("meter", { calibration })[0]?.halfV).toBeCloseTo(0.1475 * 1.01, 4);
  });

  it("counts pick-up that is known, unless it was averaged over whole periods", () => {
    expect(termOf("hum", { humV: 0.2 })[0]?.halfV).toBeCloseTo(0.2 * 1.01, 6);
    expect(termOf("hum", { humV: 0.2 }, true)).toEqual([]);
  });

  it("of no reading is none", () => {
    const none = toReading(codes(1023, 1023), channel, true);
    const facts = {
      channel,
      accuracy,
      now: { reference: null, ground: null },
      overMains: false,
      classOf: () => "low" as const,
    };
    expect(evaluateReading(none, facts)).toBeNull();
  });
});
