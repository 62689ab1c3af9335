import { describe, expect, it } from "vitest";
import type { Phase } from "../../src/events/events.ts";
import type { Verdict } from "../../src/events/levels.ts";
import { stateWord } from "../../src/screen/state-word.ts";
import { DOT_ROWS, TALL_WORD_HEIGHTS, tallWord } from "../../src/screen/tall-letters.ts";
import { examples } from "./example-run.ts";

const phases: readonly Phase[] = [
  "connecting",
  "checking supplies",
  "heating",
  "raising bias",
  "raising plate",
  "warming up",
  "stepping",
  "holding",
  "by hand",
  "frozen",
  "standby",
  "powering down",
];
const verdicts: readonly Verdict[] = [
  "pass",
  "conditional pass",
  "conditional fail",
  "fail",
  "void",
  "not tested",
];

function base() {
  const { holding } = examples;
  if (holding === undefined) throw new Error("no example is called holding");
  return holding;
}

const words = [
  ...phases.map((phase) => stateWord({ ...base(), phase }).word),
  ...verdicts.map((verdict) => stateWord({ ...base(), phase: "ended", verdict }).word),
  stateWord(examples["unproved"] ?? base()).word,
  stateWord(base(), true).word,
];

describe("the state word", () => {
  it("is another shape for every state, without colour and in plain ASCII too", () => {
    for (const ascii of [false, true]) {
      const shapes = words.map((word) => tallWord(word, ascii).join("\n"));
      expect(new Set(shapes).size).toBe(words.length);
    }
  });

  it("has a drawing for each of its letters, and takes no more than half of 80 columns and two", () => {
    for (const word of words) {
      const [row = ""] = tallWord(word, true);
      expect(row.length).toBeGreaterThanOrEqual(word.replaceAll(/[^A-Z]/g, "").length * 4 - 1);
      expect(row.length).toBeLessThanOrEqual(42);
    }
  });

  it("outranks a verdict when a rail is not proved off", () => {
    for (const isSilent of [false, true]) {
      const { word } = stateWord(examples["unproved"] ?? base(), isSilent);
      expect(word).toBe("LIVE!");
    }
  });

  it("takes three rows of half blocks, or five in plain ASCII, all of one width", () => {
    expect(tallWord("HOLD", false)).toHaveLength(3);
    expect(tallWord("HOLD", true)).toHaveLength(DOT_ROWS);
    for (const ascii of [false, true]) {
      expect(new Set(tallWord("STANDBY", ascii).map((row) => row.length)).size).toBe(1);
    }
    expect(tallWord("HOLD", true).join("")).toMatch(/^[ #]+$/);
  });

  it("is high enough at 2 m: 16 minutes of arc with a 10 point font, 20 with 12 point", () => {
    // NUREG-0700 revision 2, guideline 1.3.1-4: at least 16 minutes of arc, 20 to 22 preferred, at
    // most 45 for a group of characters. A row is taken as 1.2 times the font's size, common practice;
    // a point is 25.4 mm / 72.
    const heightMm = (point: number) => (DOT_ROWS / 2) * point * 1.2 * (25.4 / 72);
    const arcMinutes = (mm: number) => (mm * 21_600) / (6.283 * 2000);
    expect(arcMinutes(heightMm(10))).toBeGreaterThan(16);
    expect(arcMinutes(heightMm(12))).toBeGreaterThan(20);
    expect(heightMm(10)).toBeGreaterThan(9.3);
    expect(heightMm(12)).toBeGreaterThan(12);
    expect(arcMinutes(2 * heightMm(12))).toBeLessThan(45);
    expect(TALL_WORD_HEIGHTS).toContain(`${heightMm(10).toFixed(1)} mm high at 10 point`);
    expect(TALL_WORD_HEIGHTS).toContain(`${heightMm(12).toFixed(1)} mm at 12 point`);
  });
});
