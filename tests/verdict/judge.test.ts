import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { ChannelReading } from "../../src/events/events.ts";
import type { LevelContract } from "../../src/events/levels.ts";
import { noReading } from "../../src/measure/reading.ts";
import { judgeDrivenLine, judgeReading, lineInactive } from "../../src/verdict/judge.ts";
import { classOf } from "../../src/verdict/level-class.ts";

const contract: LevelContract = { volV: 14, vilV: 18, vihV: 32, vohV: 36 };

function read(volts: number): ChannelReading {
  return { channel: "Q", volts, noReading: null, sum: 0, count: 1, min: 0, max: 0 };
}

/** Level tables of integrated families as examples of contracts; sources stand in the file. */
const levels: {
  families: {
    family: string;
    supply_V: number;
    VIL_max: number;
    VIH_min: number;
    VOL_max: number;
    VOH_min: number;
    NML: number;
    NMH: number;
  }[];
} = JSON.parse(
  readFileSync(new URL("../references/logic/logic-levels.json", import.meta.url), "utf8"),
);

describe("class and result of each published family", () => {
  for (const family of levels.families) {
    const published: LevelContract = {
      volV: family.VOL_max,
      vilV: family.VIL_max,
      vihV: family.VIH_min,
      vohV: family.VOH_min,
    };
    it(`${family.family} at ${family.supply_V} V: limits are inside, the band between is neither`, () => {
      expect(classOf(family.VIL_max, published)).toBe("low");
      expect(classOf(family.VIH_min, published)).toBe("high");
      expect(classOf((family.VIL_max + family.VIH_min) / 2, published)).toBe("between");
      expect(judgeReading(read(family.VOL_max), "low", { contract: published }).result).toBe(
        "pass",
      );
      expect(judgeReading(read(family.VOH_min), "high", { contract: published }).result).toBe(
        "pass",
      );
    });

    it(`${family.family} at ${family.supply_V} V: a level at the receiver's limit is short by the published noise margin`, () => {
      const low = judgeReading(read(family.VIL_max), "low", { contract: published });
      expect(low).toMatchObject({ class: "low", result: "fail", reason: "margin short" });
      expect(low.marginV).toBeCloseTo(-family.NML, 9);
      const high = judgeReading(read(family.VIH_min), "high", { contract: published });
      expect(high).toMatchObject({ class: "high", result: "fail", reason: "margin short" });
      expect(high.marginV).toBeCloseTo(-family.NMH, 9);
    });
  }
});

describe("judgeReading", () => {
  it.each([
    // volts, expected, class, result, reason, limit, margin
    [9, "low", "low", "pass", "as expected", 14, 5],
    [14, "low", "low", "pass", "as expected", 14, 0],
    [14.01, "low", "low", "fail", "margin short", 14, -0.01],
    [18, "low", "low", "fail", "margin short", 14, -4],
    [18.01, "low", "between", "fail", "between", 18, -0.01],
    [31.99, "low", "between", "fail", "between", 18, -13.99],
    [32, "low", "high", "fail", "wrong class", 18, -14],
    [46, "low", "high", "fail", "wrong class", 18, -28],
    [46, "high", "high", "pass", "as expected", 36, 10],
    [36, "high", "high", "pass", "as expected", 36, 0],
    [35.99, "high", "high", "fail", "margin short", 36, -0.01],
    [32, "high", "high", "fail", "margin short", 36, -4],
    [31.99, "high", "between", "fail", "between", 32, -0.01],
    [18, "high", "low", "fail", "wrong class", 32, -14],
    [20, "between", "between", "pass", "as expected", 18, 2],
    [30, "between", "between", "pass", "as expected", 32, 2],
    [18, "between", "low", "fail", "wrong class", 18, 0],
  ] as const)(
    "%d V, expected %s: %s, %s, %s",
    (volts, expected, level, result, reason, limitV, marginV) => {
      const judged = judgeReading(read(volts), expected, { contract });
      expect(judged).toMatchObject({ channel: "Q", volts, class: level, expected, result, reason });
      expect(judged.limitV).toBe(limitV);
      expect(judged.marginV).toBeCloseTo(marginV, 9);
    },
  );

  it("voids a channel without a reading and gives it no class, limit or margin", () => {
    expect(judgeReading(noReading("Q", "clipped"), "low", { contract })).toMatchObject({
      volts: null,
      noReading: "clipped",
      class: null,
      result: "void",
      reason: "no reading",
      limitV: null,
      marginV: null,
    });
  });

  it("passes exactly when the level keeps the sender's limit, at any volts", () => {
    fc.assert(
      fc.property(fc.double({ min: -60, max: 110, noNaN: true }), (volts) => {
        expect(judgeReading(read(volts), "low", { contract }).result === "pass").toBe(volts <= 14);
        expect(judgeReading(read(volts), "high", { contract }).result === "pass").toBe(volts >= 36);
      }),
    );
  });
});

describe("a driven line", () => {
  it("passes on the receiver's limits alone", () => {
    expect(judgeDrivenLine(read(18), "low", contract)).toMatchObject({
      result: "pass",
      limitV: 18,
    });
    expect(judgeDrivenLine(read(32), "high", contract)).toMatchObject({
      result: "pass",
      limitV: 32,
    });
  });

  it("off its level voids and never fails", () => {
    expect(judgeDrivenLine(read(18.1), "low", contract)).toMatchObject({
      result: "void",
      reason: "between",
    });
    expect(judgeDrivenLine(read(44), "low", contract)).toMatchObject({
      result: "void",
      reason: "wrong class",
    });
    expect(judgeDrivenLine(noReading("SET", "stale"), "low", contract)).toMatchObject({
      result: "void",
      reason: "no reading",
    });
  });

  it("is inactive only when it reads at its inactive level", () => {
    expect(lineInactive(read(0.4), "low", contract)).toBe(true);
    expect(lineInactive(read(18.1), "low", contract)).toBe(false);
    expect(lineInactive(read(44), "high", contract)).toBe(true);
    expect(lineInactive(noReading("SET", "clipped"), "low", contract)).toBe(false);
  });
});

describe("classOf", () => {
  it("refuses to class what was not read", () => {
    expect(() => classOf(Number.NaN, contract)).toThrow(/finite volts/);
  });
});
