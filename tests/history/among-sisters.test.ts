/**
 * A unit among its sisters. The arithmetic is the modified z-score of Iglewicz and Hoaglin (1993; NIST/SEMATECH
 * e-Handbook 1.3.5.17): 0.6745 (x - median) / MAD, worked here by hand.
 */
import { describe, expect, it } from "vitest";
import { amongSisters as among, sisterLevels } from "../../src/history/among-sisters.ts";
import type { Level } from "../../src/history/level.ts";

const level = (volts: number, expandedV: number | null = null): Level => ({
  channel: "Q",
  expected: "low",
  volts,
  of: "mean",
  expandedV,
});

function amongSisters(own: readonly Level[], sisters: readonly (readonly Level[])[]) {
  const units = sisters.map((levels, at) => ({ unit: `LV-2${at}`, levels }));
  return among("LV-12", own, sisterLevels(units));
}

describe("amongSisters", () => {
  it("does not hold a unit against itself", () => {
    const levels = sisterLevels([{ unit: "LV-12", levels: [level(13)] }]);
    expect(among("LV-12", [level(11)], levels)[0]?.units).toBe(1);
  });

  it("gives the modified z-score of the unit's own level", () => {
    const sisters = [10, 10.2, 10.4, 10.6].map((volts) => [level(volts)]);
    // Median of 10, 10.2, 10.4, 10.6, 13 is 10.4; deviations 0.4 0.2 0 0.2 2.6, their median 0.2.
    const [found] = amongSisters([level(13)], sisters);
    expect(found).toMatchObject({ units: 5, medianV: 10.4 });
    expect(found?.z).toBeCloseTo((0.6745 * 2.6) / 0.2, 2);
  });

  it("says nothing of fewer than five units", () => {
    const sisters = [10, 10.2, 10.4].map((volts) => [level(volts)]);
    expect(amongSisters([level(13)], sisters)[0]).toMatchObject({ units: 4, z: null });
  });

  it("does not let a hair stand out among boards that agree", () => {
    const sisters = [10, 10, 10, 10.001].map((volts) => [level(volts)]);
    expect(amongSisters([level(10.05)], sisters)[0]?.z).toBeCloseTo(1, 5);
    // With an evaluated uncertainty of 0.196 V the least spread is its standard uncertainty, 0.1 V.
    expect(amongSisters([level(10.05, 0.196)], sisters)[0]?.z).toBeCloseTo(0.5, 5);
  });

  it("takes only sisters that have the level", () => {
    const other: Level = { ...level(40), expected: "high" };
    const [found] = amongSisters([level(10)], [[other], [level(11)]]);
    expect(found?.units).toBe(2);
  });
});
