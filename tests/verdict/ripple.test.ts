/** A level that is not still: its mean may look right while its receiver sees something else. */
import { describe, expect, it } from "vitest";
import type { PlannedChannel } from "../../src/events/plan.ts";
import { nodeVolts } from "../../src/measure/divider.ts";
import { toReading, toReadingOverMains } from "../../src/measure/reading.ts";
import { judgeDrivenLine, judgeReading, lineInactive } from "../../src/verdict/judge.ts";
import { classOfReading } from "../../src/verdict/level-class.ts";

const contract = { volV: 14.5, vilV: 18.5, vihV: 31.5, vohV: 34.5 };
const channel: PlannedChannel = {
  name: "Q",
  number: 7,
  reads: { kind: "net", net: "Q" },
  divider: { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null },
  referenceV: 5,
};
/** One code is 5 V / 1024 x 11 = 53.7 mV at the node. */
const CODE_V = 0.0537109375;

/** Twenty samples that go evenly from `low` to `high` codes. */
function swinging(low: number, high: number) {
  const codes = Array.from({ length: 20 }, (_, at) => Math.round(low + ((high - low) * at) / 19));
  const sum = codes.reduce((total, code) => total + code, 0);
  return { channel: "Q", sum, count: 20, min: low, max: high };
}

describe("a reading over whole periods of the mains", () => {
  it("keeps the mean, the ripple and the highest volts", () => {
    const reading = toReadingOverMains(swinging(200, 240), channel, true);
    expect(reading.volts).toBeCloseTo(220 * CODE_V, 6);
    expect(reading.rippleV).toBeCloseTo(40 * CODE_V, 6);
    expect(reading.highestV).toBeCloseTo(240 * CODE_V, 6);
  });

  it("has no ripple where there is no reading", () => {
    const clipped = toReadingOverMains(swinging(900, 1023), channel, true);
    expect(clipped).toMatchObject({ volts: null, noReading: "clipped" });
    expect(clipped.rippleV).toBeUndefined();
  });
});

describe("judging a level with ripple", () => {
  const over = (low: number, high: number) =>
    toReadingOverMains(swinging(low, high), channel, true);

  it("passes a low whose highest volts are at or below VOL", () => {
    // 269 codes are 14.45 V, 270 are 14.50 V and a hair.
    expect(judgeReading(over(200, 269), "low", { contract }).result).toBe("pass");
    expect(judgeReading(over(200, 271), "low", { contract })).toMatchObject({
      result: "fail",
      reason: "margin short",
    });
  });

  it("fails a low whose mean is fine and whose highest volts are no low any more", () => {
    const reading = over(150, 380);
    expect(reading.volts).toBeLessThan(contract.volV);
    expect(judgeReading(reading, "low", { contract })).toMatchObject({
      result: "fail",
      reason: "between",
      class: "between",
    });
    expect(
      judgeReading(toReading(swinging(150, 380), channel, true), "low", { contract }).result,
    ).toBe("pass");
  });

  it("judges a high by its lowest volts, and its margin too", () => {
    const reading = over(640, 800);
    const judged = judgeReading(reading, "high", { contract });
    expect(judged).toMatchObject({ result: "fail", reason: "margin short" });
    expect(judged.marginV).toBeCloseTo(nodeVolts(640, channel.divider, 5) - contract.vohV, 6);
  });

  it("gives a level that nothing is expected of the class of both its ends, else between", () => {
    // 18.5 V are 344.4 codes, 31.5 V are 586.5.
    expect(classOfReading(over(100, 344), contract)).toBe("low");
    expect(classOfReading(over(100, 345), contract)).toBe("between");
    expect(classOfReading(over(587, 800), contract)).toBe("high");
    expect(classOfReading(over(100, 800), contract)).toBe("between");
    expect(classOfReading(over(900, 1023), contract)).toBeNull();
    expect(lineInactive(over(100, 345), "low", contract)).toBe(false);
    expect(lineInactive(over(100, 344), "low", contract)).toBe(true);
  });

  it("voids a driven line that hums out of its level", () => {
    expect(judgeDrivenLine(over(560, 800), "high", contract).result).toBe("void");
    expect(judgeDrivenLine(over(600, 800), "high", contract).result).toBe("pass");
  });
});
