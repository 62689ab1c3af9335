/**
 * Risks against JCGM 106:2012 and ILAC-G8. Inputs of the resistor example are confirmed; the two-digit
 * results printed for it and the diode and oil examples are from memory, and were recomputed
 * (tests/references/statistics/conformity-jcgm-106.json says which).
 */
import { describe, expect, it } from "vitest";
import { type RuledResult, ruledResult } from "../../src/verdict/decision-rule.ts";
import {
  chanceBeyond,
  conformanceProbability,
  falseAcceptAtLimit,
  globalRisks,
  resultProbabilities,
} from "../../src/verdict/risk.ts";
import { seededChance } from "../bench/seeded-chance.ts";
import { decimalsOf } from "../measure/statistics/printed.ts";
import jcgm106 from "../references/statistics/conformity-jcgm-106.json" with { type: "json" };
import bands from "../references/statistics/guard-bands-ilac-g8-iso-14253.json" with {
  type: "json",
};

const { data, certified } = jcgm106;

describe("conformanceProbability", () => {
  it("is 0.92 for the diode below its upper limit", () => {
    const { estimate: value, u, upper_limit: high } = data.diode;
    const p = conformanceProbability({ value, u }, { high });
    expect(p.toFixed(2)).toBe(certified.diode.conformance_probability.value);
    expect(p).toBeCloseTo(Number(certified.diode.computed), 6);
  });

  it("is 0.66 for the oil between its limits", () => {
    const { estimate: value, u, lower_limit: low, upper_limit: high } = data.oil;
    const p = conformanceProbability({ value, u }, { low, high });
    expect(p.toFixed(2)).toBe(certified.oil.conformance_probability.value);
    expect(p).toBeCloseTo(Number(certified.oil.computed), 6);
  });

  it.each(certified.specific_risk_one_sided_normal)(
    "leaves $probability_nonconforming at $distance_inside_limit_in_u u inside either limit",
    (row) => {
      const distance = Number(row.distance_inside_limit_in_u);
      const risk = Number(row.probability_nonconforming);
      const value = 2.2 - distance * 0.03;
      // Distances are printed to six digits.
      expect(1 - conformanceProbability({ value, u: 0.03 }, { high: 2.2 })).toBeCloseTo(risk, 5);
      const above = 1 - conformanceProbability({ value: -value, u: 0.03 }, { low: -2.2 });
      expect(above).toBeCloseTo(risk, 5);
    },
  );

  it("needs 3.75 u and not 2.33 u for 1 % with four degrees of freedom", () => {
    const at = (distance: number, dof?: number) =>
      1 -
      conformanceProbability(
        dof === undefined ? { value: -distance, u: 1 } : { value: -distance, u: 1, dof },
        { high: 0 },
      );
    expect(at(3.747, 4)).toBeCloseTo(0.01, 5);
    expect(at(2.32635)).toBeCloseTo(0.01, 5);
    expect(at(2.32635, 4)).toBeGreaterThan(0.04);
  });

  it("is the chance of being beyond either limit, for a margin read inside it", () => {
    const inside = conformanceProbability({ value: 1.5, u: 0.2, dof: 3 }, { high: 1.8 });
    expect(chanceBeyond(0.3, 0.2, 3)).toBeCloseTo(1 - inside, 14);
    expect(chanceBeyond(-0.3, 0.2, 3)).toBeCloseTo(inside, 14);
    // 1 % one-sided at 3.747 u for four degrees of freedom, 0.009 % for a normal.
    expect(chanceBeyond(3.747, 1, 4)).toBeCloseTo(0.01, 5);
    expect(chanceBeyond(3.747, 1)).toBeLessThan(1e-4);
    expect(() => chanceBeyond(1, 0)).toThrow(RangeError);
  });

  it("is certain without limits and refuses an uncertainty of none", () => {
    expect(conformanceProbability({ value: 1, u: 1 }, {})).toBe(1);
    for (const u of [0, -1, Number.NaN]) {
      expect(() => conformanceProbability({ value: 1, u }, { high: 2 })).toThrow(RangeError);
    }
  });
});

describe("falseAcceptAtLimit", () => {
  it.each(bands.certified.computed_one_sided)("is as ILAC-G8 bounds it for w = $r U", (row) => {
    const r = Number(row.r);
    const [k2, k196] = [falseAcceptAtLimit(r, 2), falseAcceptAtLimit(r)];
    // The six-sigma row is a few in 1e9: relative, as the others are.
    expect(k2 / Number(row.at_U_equals_2u)).toBeCloseTo(1, 3);
    expect(k196 / Number(row["at_U_equals_1.96u"])).toBeCloseTo(1, 3);
  });

  it("keeps below every bound that ILAC-G8 prints, with U = 2 u", () => {
    const limits = bands.certified.rules.map(({ r, specific_false_accept_probability: bound }) => {
      const [number = "", unit] = bound.replace("< ", "").split(" ");
      return { r: Number(r), bound: Number(number) * (unit === "ppm" ? 1e-6 : 0.01) };
    });
    expect(limits).toHaveLength(5);
    for (const { r, bound } of limits) {
      expect(falseAcceptAtLimit(r, 2)).toBeLessThanOrEqual(bound);
      expect(falseAcceptAtLimit(r, 2)).toBeGreaterThan(bound / 1100);
    }
    expect(falseAcceptAtLimit(1)).toBeCloseTo(0.025, 10);
    expect(falseAcceptAtLimit(1, 2)).toBeLessThan(
      Number(certified.guarded_acceptance_w_equals_U_2u.upper_bound_specific_consumer_risk),
    );
  });
});

describe("globalRisks", () => {
  const { process, measurement, nominal, tolerance_interval, acceptance_interval } = data.resistors;
  const [low = 0, high = 0] = tolerance_interval;
  const population = { mean: process.mean, sd: process.u0 };
  const { computed, ...printed } = certified.resistors;

  it("has 0.01 and 0.07 for the resistors, and 0.90 that conform", () => {
    const [from = 0, to = 0] = acceptance_interval;
    const risks = globalRisks(population, measurement.um, { low, high }, { low: from, high: to });
    expect(risks.consumer.toFixed(2)).toBe(printed.consumer_risk.value);
    expect(risks.producer.toFixed(2)).toBe(printed.producer_risk.value);
    const conforming = conformanceProbability(
      { value: process.mean, u: process.u0 },
      { low, high },
    );
    expect(conforming.toFixed(2)).toBe(printed.process_conformance_probability.value);
    expect(conforming).toBeCloseTo(Number(computed.process_conformance_probability), 6);
  });

  it.each(Object.entries(computed.by_acceptance_half_width))(
    "has the computed risks for acceptance within %s ohm",
    (halfWidth, expected) => {
      const half = Number(halfWidth);
      const risks = globalRisks(
        population,
        measurement.um,
        { low, high },
        { low: nominal - half, high: nominal + half },
      );
      const digits = decimalsOf(expected.consumer_risk);
      expect(risks.consumer).toBeCloseTo(Number(expected.consumer_risk), digits);
      expect(risks.producer).toBeCloseTo(Number(expected.producer_risk), digits);
    },
  );

  it("is half of the two-sided case for one limit, and nothing for a perfect meter", () => {
    const both = globalRisks(population, measurement.um, { low, high }, { low, high });
    const one = globalRisks(population, measurement.um, { high }, { high });
    expect(one.consumer * 2).toBeCloseTo(both.consumer, 5);
    expect(one.producer * 2).toBeCloseTo(both.producer, 5);
    const perfect = globalRisks(population, 1e-7, { low, high }, { low, high });
    expect(perfect.consumer).toBeLessThan(1e-6);
    expect(perfect.producer).toBeLessThan(1e-6);
    expect(() => globalRisks({ mean: 0, sd: 0 }, 1, { high: 1 }, { high: 1 })).toThrow(RangeError);
  });

  it("agrees with a count of chance, for one limit far to the side", () => {
    // Mean 1, sd 0.5, limit 1.8, guard band 0.2, u 0.1; 80 000 boards.
    const risks = globalRisks({ mean: 1, sd: 0.5 }, 0.1, { high: 1.8 }, { high: 1.6 });
    const chance = seededChance("boards");
    const trials = 80_000;
    let [consumer, producer] = [0, 0];
    for (let trial = 0; trial < trials; trial += 1) {
      const radius = Math.sqrt(-2 * Math.log(1 - chance()));
      const angle = 2 * Math.PI * chance();
      const truth = 1 + 0.5 * radius * Math.cos(angle);
      const reading = truth + 0.1 * radius * Math.sin(angle);
      if (truth > 1.8 && reading <= 1.6) consumer += 1;
      if (truth <= 1.8 && reading > 1.6) producer += 1;
    }
    expect(Math.abs(consumer / trials - risks.consumer)).toBeLessThan(
      4 * Math.sqrt(risks.consumer / trials),
    );
    expect(Math.abs(producer / trials - risks.producer)).toBeLessThan(
      4 * Math.sqrt(risks.producer / trials),
    );
  });
});

describe("resultProbabilities", () => {
  it("passes 2.5 % of nets at their limit, and half of those that are U inside", () => {
    const at = resultProbabilities(0, 0.1);
    expect(at.pass).toBeCloseTo(0.025, 10);
    expect(at["conditional pass"]).toBeCloseTo(0.475, 10);
    expect(at["conditional fail"]).toBeCloseTo(0.475, 10);
    expect(at.fail).toBeCloseTo(0.025, 10);
    expect(resultProbabilities(0.1, 0.1).pass).toBeCloseTo(0.5, 10);
    expect(resultProbabilities(-0.1, 0.1).fail).toBeCloseTo(0.5, 10);
  });

  it("follows the rule that judges, by a count of chance", () => {
    const chance = seededChance("operating curve");
    const [expandedV, k, trials] = [0.08, 2, 20_000];
    const rule = { name: "guarded", evaluated: true, remarks: [] } as const;
    for (const marginV of [-0.1, -0.03, 0, 0.05, 0.12]) {
      const counts: Record<RuledResult, number> = {
        pass: 0,
        "conditional pass": 0,
        "conditional fail": 0,
        fail: 0,
      };
      for (let trial = 0; trial < trials; trial += 1) {
        const error = Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance());
        const read = marginV + (error * expandedV) / k;
        const result = ruledResult(read, expandedV, rule);
        if (result !== null) counts[result] += 1;
      }
      const expected = resultProbabilities(marginV, expandedV, k);
      for (const [name, p] of Object.entries(expected)) {
        const off = Math.abs(counts[name as RuledResult] / trials - p);
        expect(off, `${name} at ${marginV}`).toBeLessThan(4 * Math.sqrt(p / trials) + 1e-4);
      }
    }
  });

  it("adds up to one, and refuses an uncertainty of none", () => {
    for (const marginV of [-1, -0.05, 0.02, 3]) {
      const all = Object.values(resultProbabilities(marginV, 0.07));
      expect(all.reduce((sum, p) => sum + p, 0)).toBeCloseTo(1, 14);
      for (const p of all) expect(p).toBeGreaterThanOrEqual(0);
    }
    expect(() => resultProbabilities(0.1, 0)).toThrow(RangeError);
  });
});
