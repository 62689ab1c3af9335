import { describe, expect, it } from "vitest";
import { agreements } from "./certified.ts";
import { lre } from "./lre.ts";

describe("statistics against the certified values of NIST StRD", () => {
  const all = agreements();

  it("takes every data set, curves from both published starts", () => {
    expect(all.map(({ kind }) => kind).join(" ")).toMatch(
      /^(univariate ){6}(linear ){2}(nonlinear ?){10}$/,
    );
  });

  it.each(all)("$name agrees to $least digits", ({ digits, least }) => {
    for (const [what, agreed] of Object.entries(digits)) {
      expect(agreed, what).toBeGreaterThanOrEqual(least);
    }
  });

  it("ends curves at their minimum and not merely near it: eight digits, two to spare", () => {
    for (const { digits, name } of all.filter(({ kind }) => kind === "nonlinear")) {
      expect(Math.min(...Object.values(digits)), name).toBeGreaterThanOrEqual(8);
    }
  });

  it("counts digits as they agree", () => {
    expect(lre(1.001, "1")).toBeCloseTo(3, 10);
    expect(lre(1, "1")).toBe(15);
    expect(lre(1e-4, "0")).toBeCloseTo(4, 10);
    expect([lre(Number.NaN, "1"), lre(-5, "1")]).toEqual([0, 0]);
  });
});
