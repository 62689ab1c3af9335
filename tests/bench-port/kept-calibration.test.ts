/** The calibration bytes of the stored block, against firmware-protocol/PROTOCOL.md, section 9. */
import { describe, expect, it } from "vitest";
import { calibrationBytes, calibrationDay } from "../../src/bench/kept-calibration.ts";

/** -32768 twice. */
const NOT_KEPT = [0x80, 0, 0x80, 0];

const one = (gain: number, offsetSteps: number, number = 1) =>
  calibrationBytes({ day: "2026-05-01", channels: [{ number, gain, offsetSteps }] });

describe("a calibration as a controller keeps it", () => {
  it("is 22 channels of gain and offset and a day, 90 bytes", () => {
    expect(one(1, 0).bytes).toHaveLength(90);
  });

  it("has gains in parts per million and offsets in sixteenths of a code, high byte first", () => {
    // +1000 ppm is 0x03E8; -2.5 codes are -40 sixteenths, 0xFFD8.
    expect([...one(1.001, -2.5).bytes.slice(0, 4)]).toEqual([0x03, 0xe8, 0xff, 0xd8]);
    expect([...one(1.001, -2.5, 22).bytes.slice(84, 88)]).toEqual([0x03, 0xe8, 0xff, 0xd8]);
  });

  it("counts days from the first of 2000", () => {
    // 26 years with 7 leap days, and January to April: 9617 days, 0x2591.
    const { bytes } = one(1, 0);
    expect([...bytes.slice(88)]).toEqual([0x25, 0x91]);
    expect(calibrationDay(0x25, 0x91)).toBe("2026-05-01");
    expect(calibrationDay(0, 0)).toBeNull();
  });

  it("marks every channel it does not have: zeros would say that nothing is off", () => {
    const { bytes } = one(1, 0, 2);
    expect([...bytes.slice(0, 4)]).toEqual(NOT_KEPT);
    expect([...bytes.slice(4, 8)]).toEqual([0, 0, 0, 0]);
    expect([...bytes.slice(84, 88)]).toEqual(NOT_KEPT);
  });

  it("leaves out what 16 bits cannot say, by its number", () => {
    expect(one(1.0327, 0).beyond).toEqual([]);
    const far = one(1.0328, 0, 8);
    expect(far.beyond).toEqual([8]);
    expect([...far.bytes.slice(28, 32)]).toEqual(NOT_KEPT);
    expect(one(1 - 0.032768, 0).beyond).toEqual([1]);
  });
});
