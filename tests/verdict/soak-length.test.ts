import { describe, expect, it } from "vitest";
import { soakLength, soakLengthWords } from "../../src/verdict/soak-length.ts";

const wish = { oneIn: 1000, chance: 0.95, errorsAllowed: 0, cycleMs: 2000 };

describe("soakLength(wish)", () => {
  it("runs 2995 cycles, 1 h 40 min, for a one-in-1000 error with 95 % chance", () => {
    expect(soakLengthWords(soakLength(wish))).toEqual([
      "To see a one-in-1000 error with 95 % chance run 2995 cycles, 1 h 40 min.",
      "As many without an error show, with 95 % confidence, that it comes less often; not that it never comes.",
    ]);
  });

  it("takes longer where errors are allowed, and says that they are fixed before", () => {
    const allowed = soakLength({ ...wish, errorsAllowed: 2 });
    // By the chi-square relation 6.296 times the 1000 cycles.
    expect(allowed.cycles / 1000).toBeCloseTo(6.296, 2);
    expect(soakLengthWords(allowed)[1]).toMatch(/fixed before the run/);
    expect(soakLengthWords(soakLength({ ...wish, cycleMs: 0 }))[0]).toMatch(/2995 cycles\.$/);
  });

  it("refuses what is no rarity", () => {
    expect(() => soakLength({ ...wish, oneIn: 1 })).toThrow(RangeError);
    expect(() => soakLength({ ...wish, cycleMs: -1 })).toThrow(RangeError);
    expect(() => soakLength({ ...wish, chance: 1 })).toThrow(RangeError);
  });
});
