import { describe, expect, it } from "vitest";
import { chanceUnchanged, cleanCyclesNeeded } from "../../../src/measure/statistics/cure.ts";

const NONE = { errors: 0, cycles: 0 };

describe("cure counter", () => {
  it("asks 19 times the cycles that showed one error, at 5 %", () => {
    const before = { errors: 1, cycles: 1000 };
    expect(cleanCyclesNeeded({ before, after: NONE })).toBe(19_000);
    expect(cleanCyclesNeeded({ before, after: { errors: 0, cycles: 18_000 } })).toBe(1000);
    expect(cleanCyclesNeeded({ before, after: { errors: 0, cycles: 20_000 } })).toBe(0);
    expect(chanceUnchanged({ before, after: { errors: 0, cycles: 19_000 } })).toBeCloseTo(0.05, 12);
  });

  it("is Fisher's tea where all four errors came in the first half: 1 in 70", () => {
    const before = { errors: 4, cycles: 4 };
    expect(chanceUnchanged({ before, after: { errors: 0, cycles: 4 } })).toBeCloseTo(1 / 70, 12);
  });

  it("is the first count that passes the level", () => {
    for (const before of [
      { errors: 3, cycles: 7200 },
      { errors: 40, cycles: 500 },
    ]) {
      for (const after of [NONE, { errors: 1, cycles: 50 }]) {
        const needed = cleanCyclesNeeded({ before, after }, 0.01);
        const at = (more: number) =>
          chanceUnchanged({ before, after: { ...after, cycles: after.cycles + more } });
        expect(at(needed)).toBeLessThanOrEqual(0.01);
        expect(at(needed - 1)).toBeGreaterThan(0.01);
      }
    }
  });

  it("calls a cure that is none no more often than its level, looked at after every cycle", () => {
    // Whatever the true rate: errors before are binomial, and all cycles needed then stay clean.
    const cycles = 60;
    for (const rate of [0.005, 0.02, 0.1, 0.4]) {
      let called = 0;
      let chance = (1 - rate) ** cycles;
      for (let errors = 1; errors <= cycles; errors += 1) {
        chance *= ((cycles - errors + 1) / errors) * (rate / (1 - rate));
        const needed = cleanCyclesNeeded({ before: { errors, cycles }, after: NONE });
        called += chance * (1 - rate) ** needed;
      }
      expect(called).toBeLessThanOrEqual(0.05);
      expect(called).toBeGreaterThan(0);
    }
  });

  it("refuses a repair of nothing, and counts that are none", () => {
    expect(() => chanceUnchanged({ before: { errors: 0, cycles: 9 }, after: NONE })).toThrow(
      /none/,
    );
    expect(() => chanceUnchanged({ before: { errors: 9, cycles: 8 }, after: NONE })).toThrow(
      /among/,
    );
    expect(() => cleanCyclesNeeded({ before: { errors: 1, cycles: 8 }, after: NONE }, 0)).toThrow(
      /level/,
    );
  });
});
