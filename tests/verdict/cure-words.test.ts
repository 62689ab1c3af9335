import { describe, expect, it } from "vitest";
import { cureState, cureWords } from "../../src/verdict/cure-words.ts";

const before = { errors: 3, cycles: 7200 };
const wordsAfter = (errors: number, cycles: number) =>
  cureWords(cureState({ before, after: { errors, cycles } }), 500);

describe("cureState(repair) and its words", () => {
  it("counts down clean cycles until a change is shown", () => {
    const needed = cureState({ before, after: { errors: 0, cycles: 0 } }).cyclesNeeded;
    // (n1 / (n1 + n2))^3 = 0.05 gives n2 = 1.714 n1.
    expect(needed / 7200).toBeCloseTo(1.714, 2);
    expect(wordsAfter(0, 7200)).toEqual([
      "3 errors in 7200 cycles before the repair; 7200 clean cycles since.",
      "Not shown yet: had the repair changed nothing, so long a clean stretch would come by a chance of 1 in 8.",
      `${needed - 7200} more clean cycles, 43 min, show a change at the 5 % level.`,
    ]);
  });

  it("says what is shown, and what is not", () => {
    const words = wordsAfter(0, 20_000);
    expect(words[1]).toMatch(
      /the change is shown at the 5 % level\. That it never comes again is not\./,
    );
    expect(words).toHaveLength(2);
  });

  it("calls no repair a cure after which it came back", () => {
    expect(wordsAfter(1, 500)).toEqual([
      "Not cured: 1 error in 500 cycles since the repair, after 3 errors in 7200 cycles before the repair.",
      expect.stringMatching(/^Whether it is even rarer than it was is open/),
      "Look further, and count anew from the next repair.",
    ]);
    expect(wordsAfter(1, 90_000)[1]).toBe(
      "It is rarer than it was, at the 5 % level; rarer is not cured.",
    );
  });
});
