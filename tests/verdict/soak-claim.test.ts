import { describe, expect, it } from "vitest";
import type { SoakConditions, SoakCounted } from "../../src/verdict/soak-claim.ts";
import { claimOf } from "../../src/verdict/soak-claim.ts";
import { claimWords } from "../../src/verdict/soak-claim-words.ts";

const conditions: SoakConditions = {
  unit: "LV-07",
  steps: 8,
  powerCycles: 1,
  celsius: [18.2, 24.9],
  rails: [{ rail: "plate", lowV: 23.71, highV: 24.22 }],
  gaps: 0,
};
const counted: SoakCounted = {
  cycles: 2995,
  errors: 0,
  unjudged: 0,
  hours: 2,
  stop: "planned end",
};

const wordsOf = (counts: Partial<SoakCounted>, others: Partial<SoakConditions> = {}) => {
  const claim = claimOf({ ...counted, ...counts }, { ...conditions, ...others });
  return claim === null ? null : claimWords(claim);
};

describe("claimOf(counted, conditions)", () => {
  it("claims of a clean run what it shows, and under what", () => {
    expect(wordsOf({})).toEqual([
      "2995 cycles judged, none wrong, in 2 h 0 min on power.",
      // 2 h by 2.996: 40 minutes.
      "With 95 % confidence fewer than 1 in 1000 cycles goes wrong, and it runs for longer than 40 min 3 s from one error to the next on average.",
      "Holds for unit LV-07, the 8 steps of this cycle, powered up once, 18.2 to 24.9 degC, plate 23.71 to 24.22 V.",
      "It supposes that the rate stays as it is and that errors know nothing of each other. What was not cycled, and what happened between readings, is not in it.",
    ]);
  });

  it("rounds a rarity down, never up", () => {
    expect(wordsOf({ cycles: 2994 })?.[1]).toContain("1 in 990 cycles");
    expect(wordsOf({ cycles: 36_000 })?.[1]).toContain("1 in 12000 cycles");
  });

  it("states errors with their interval, gaps, and cycles that count for nothing", () => {
    const words = wordsOf(
      { cycles: 10_000, errors: 4, unjudged: 3 },
      { unit: null, celsius: null, rails: [], gaps: 1, powerCycles: 5 },
    );
    expect(words?.[0]).toBe(
      "10000 cycles judged, wrong at 4 separate times, in 2 h 0 min on power. 3 more gave no ground to judge and count for nothing.",
    );
    // Exact limits for 4 in 10 000, about those of a Poisson count of 4: 1.09 and 10.24.
    expect(words?.[1]).toBe("Seen: 1 in 2500 cycles (95 % interval 1 in 970 to 1 in 9100).");
    expect(words?.[3]).toBe(
      "Holds for one unit, the 8 steps of this cycle, powered up 5 times, temperature not measured, 1 gap in which nothing was watched.",
    );
  });

  it("takes counting up to an error for what it is", () => {
    const planned = claimOf({ ...counted, errors: 3 }, conditions);
    const ended = claimOf({ ...counted, errors: 3, stop: "errors" }, conditions);
    expect(ended?.byCycle.upper).toBeLessThan(planned?.byCycle.upper ?? 0);
    expect(ended?.byHour.lower).toBeGreaterThan(planned?.byHour.lower ?? Number.POSITIVE_INFINITY);
    expect(wordsOf({ errors: 3, stop: "errors" })?.at(-1)).toMatch(/^Errors ended the soak/);
    expect(wordsOf({ stop: "cut short" })?.at(-1)).toMatch(/did not reach its planned end/);
  });

  it("claims nothing of nothing, and nothing of a board that is always wrong", () => {
    expect(wordsOf({ cycles: 0 })).toBeNull();
    expect(wordsOf({ cycles: 5, errors: 5 })?.join(" ")).toContain("Nothing can be said");
  });
});
