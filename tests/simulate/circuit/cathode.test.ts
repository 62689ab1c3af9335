import { describe, expect, it } from "vitest";
import {
  emissionShare,
  finalTemperature,
  heaterOhm,
  laterTemperature,
} from "../../../src/simulate/circuit/cathode.ts";

describe("cathode", () => {
  it("emits all but nothing at its rated temperature and nothing when cold", () => {
    expect(emissionShare(1)).toBeGreaterThan(0.998);
    expect(emissionShare(0)).toBeLessThan(1e-10);
  });

  it("covers 63 % of the way in one lag, whatever the steps", () => {
    const whole = laterTemperature(0, 1, 10, 10);
    expect(whole).toBeCloseTo(1 - Math.exp(-1), 12);
    let stepped = 0;
    for (let n = 0; n < 100; n += 1) stepped = laterTemperature(stepped, 1, 10, 0.1);
    expect(stepped).toBeCloseTo(whole, 10);
  });

  it("settles at the rated temperature at the rated power and cools without any", () => {
    expect(finalTemperature(1)).toBe(1);
    expect(laterTemperature(1, 0, 10, 100)).toBeLessThan(1e-4);
  });

  it("has a cold heater of a fifth of its hot resistance, so a stiff supply sees five times the current", () => {
    // Tungsten, 5.65 against 31 microohm centimetre between room temperature and 1200 K.
    expect(heaterOhm(42, 1) / heaterOhm(42, 0)).toBeCloseTo(31 / 5.65, 0);
  });
});
