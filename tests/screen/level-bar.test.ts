import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ASCII_GLYPHS } from "../../src/screen/glyphs.ts";
import { type BarScale, barRuler, columnOf, levelBar } from "../../src/screen/level-bar.ts";
import { lineText } from "../../src/screen/text-line.ts";

const contract = { volV: 14, vilV: 18, vihV: 32, vohV: 36 };
/** One column a volt, so that a person can count. */
const scale: BarScale = { columns: 50, contract, topV: 50 };

function bar(volts: number | null, more: { driven?: boolean } = {}): string {
  const reading = { volts, expected: "low" as const, driven: false, tone: "plain" as const };
  return lineText(levelBar({ ...reading, ...more }, scale, ASCII_GLYPHS));
}

describe("levelBar(reading, scale, glyphs)", () => {
  it("puts the reading at its volt and the limits at theirs", () => {
    expect(bar(8)).toBe("========O=====|~~~|.............|~~~|-------------");
  });

  it("marks only what the receiver needs as wanted for a line the rig drives", () => {
    expect(bar(8, { driven: true })).toBe("========O=====|===|.............|---|-------------");
  });

  it("shows no place for what was not read", () => {
    expect(bar(null)).not.toContain("O");
  });

  it("points off the scale instead of drawing a false place", () => {
    expect(bar(-3).at(0)).toBe("<");
    expect(bar(70).at(-1)).toBe(">");
  });

  it("is as wide as it was told for any volts", () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true }), (volts) => {
        expect(bar(volts)).toHaveLength(50);
      }),
    );
  });
});

describe("columnOf(volts, scale)", () => {
  it("never moves left when volts rise", () => {
    const anyV = fc.double({ min: -10, max: 60, noNaN: true });
    fc.assert(
      fc.property(anyV, anyV, (one, other) => {
        const [lowV, highV] = one < other ? [one, other] : [other, one];
        expect(columnOf(lowV, scale)).toBeLessThanOrEqual(columnOf(highV, scale));
      }),
    );
  });
});

describe("barRuler(scale)", () => {
  it("names the limits over their marks", () => {
    expect(barRuler(scale)).toBe(`${" ".repeat(12)}VOL   VIL${" ".repeat(9)}VIH   VOH`);
  });

  it("stays away where the names would run together", () => {
    expect(barRuler({ ...scale, columns: 10 })).toBe("");
  });
});
