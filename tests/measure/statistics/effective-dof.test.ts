import { describe, expect, it } from "vitest";
import {
  combinedU,
  coverageFactor,
  effectiveDof,
} from "../../../src/measure/statistics/effective-dof.ts";
import g4 from "../../references/statistics/gum-g4-welch-satterthwaite.json" with { type: "json" };
import { decimalsOf } from "./printed.ts";

const KNOWN = Number.POSITIVE_INFINITY;

describe("JCGM 100 annex G", () => {
  // Example G.4.1 is quoted from memory; its arithmetic was recomputed (`computed` in the file).
  it("reproduces example G.4.1: 1.03 %, 19.0 degrees of freedom, t 2.09, U 2.2 %", () => {
    const { data, certified } = g4;
    const terms = data.relative_u_percent.map((u, at) => ({ u, dof: data.dof[at] ?? 0 }));
    const uc = combinedU(terms);
    const dof = effectiveDof(terms);
    const k = coverageFactor(dof);
    expect(uc).toBeCloseTo(Number(certified.computed.uc_relative_percent), 6);
    expect(dof).toBeCloseTo(Number(certified.computed.nu_eff), 4);
    expect([uc.toFixed(2), dof.toFixed(1), k.toFixed(2), (k * uc).toFixed(1)]).toEqual([
      certified.uc_relative_percent.value,
      certified.nu_eff.value,
      certified["t_0.95_19"].value,
      certified.U95_relative_percent.value,
    ]);
    expect(coverageFactor(19).toFixed(4)).toBe(certified.computed["t_0.95_19"]);
    expect(coverageFactor(18).toFixed(4)).toBe(certified.computed["t_0.95_18"]);
  });

  it("adds the degrees of freedom of equal terms", () => {
    const four = Array.from({ length: 4 }, () => ({ u: 3e-7, dof: 10 }));
    const { four_equal_components_dof_10_each: printed } = g4.certified.equal_contribution_check;
    expect(effectiveDof(four)).toBeCloseTo(Number(printed), 10);
  });

  it("takes k from table G.2", () => {
    const { p95, p99 } = g4.certified.table_g2_nu16;
    expect(coverageFactor(16).toFixed(decimalsOf(p95))).toBe(p95);
    expect(coverageFactor(16, 0.99).toFixed(decimalsOf(p99))).toBe(p99);
  });

  it("lets a known term dilute the others and never adds doubt of its own", () => {
    expect(effectiveDof([{ u: 1, dof: 5 }])).toBeCloseTo(5, 12);
    expect(
      effectiveDof([
        { u: 1, dof: 5 },
        { u: 1, dof: KNOWN },
      ]),
    ).toBeCloseTo(20, 12);
    expect(effectiveDof([{ u: 2, dof: KNOWN }])).toBe(KNOWN);
    expect(effectiveDof([])).toBe(KNOWN);
    expect(effectiveDof([{ u: 0, dof: 3 }])).toBe(KNOWN);
  });

  it("does not lose a term that is small in volts", () => {
    expect(
      effectiveDof([
        { u: 1e-90, dof: 5 },
        { u: 1e-90, dof: 5 },
      ]),
    ).toBeCloseTo(10, 12);
  });

  it("refuses terms that are none", () => {
    for (const term of [
      { u: -1, dof: 3 },
      { u: Number.NaN, dof: 3 },
      { u: KNOWN, dof: 3 },
      { u: 1, dof: 0 },
      { u: 1, dof: Number.NaN },
    ]) {
      expect(() => effectiveDof([term])).toThrow(RangeError);
    }
  });
});
