import { describe, expect, it } from "vitest";
import type { PlannedChannel } from "../../src/events/plan.ts";
import { noReading, seenVolts, singleCode, toReading } from "../../src/measure/reading.ts";
import { readingText } from "../../src/measure/reading-text.ts";

const q: PlannedChannel = {
  name: "Q",
  number: 7,
  reads: { kind: "net", net: "Q" },
  divider: { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null },
  referenceV: 5,
};
const plan = { channels: [q] };
/** Code 0 fifteen times and code 1 once. */
const nearZero = { channel: "Q", sum: 1, count: 16, min: 0, max: 1 };

describe("readingText", () => {
  it("is the volts of a reading", () => {
    expect(readingText(toReading(singleCode("Q", 512), q, false), plan)).toBe("27.50 V");
  });

  it("says what the converter saw on a lead not proved, and that it is no reading", () => {
    // 55 V over 1024 steps, a sixteenth of one step: 3.4 mV; a sum of 6 in 16 codes: 20.1 mV.
    const text = (sum: number) => readingText(toReading({ ...nearZero, sum }, q, false), plan);
    expect(text(1)).toBe("no reading (lead not proved), the converter saw 0.00 V");
    expect(text(6)).toBe("no reading (lead not proved), the converter saw 0.02 V");
  });

  it("names no volts where there were no whole codes or no plan", () => {
    expect(readingText(noReading("Q", "torn"), plan)).toBe("no reading (torn)");
    const torn = { ...noReading("Q", "torn"), sum: 32, count: 16, min: 2, max: 2 };
    expect(readingText(torn, plan)).toBe("no reading (torn)");
    expect(readingText(toReading(nearZero, q, false), null)).toBe("no reading (lead not proved)");
  });
});

describe("seenVolts", () => {
  it("leaves the reading without volts", () => {
    const reading = toReading(nearZero, q, false);
    expect(seenVolts(reading, q)).toBeCloseTo(0.0034, 4);
    expect(reading.volts).toBeNull();
  });
});
