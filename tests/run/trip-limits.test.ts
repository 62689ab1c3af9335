import { describe, expect, it } from "vitest";
import type { PlannedRail } from "../../src/events/plan.ts";
import { plateFallenCode, tripLimitsOf } from "../../src/run/trip-limits.ts";
import { latchPlan } from "./latch-plan.ts";

const plan = latchPlan();
const rail = (name: string): PlannedRail => {
  const found = plan.rails.find((one) => one.rail === name);
  if (found === undefined) throw new Error(`no rail ${name}`);
  return found;
};

/** Codes by hand: 100 k over 8.2 k passes 8.2 parts in 108.2; the bias pin is at (V/10 + 5) / 2.1. */
const plateCode = (volts: number) => ((volts * 8.2) / 108.2 / 5) * 1024;
const biasCode = (volts: number) => (((volts / 10 + 5) / 2.1) * 1024) / 5;

describe("tripLimitsOf(rail, plan)", () => {
  it("trips plate beyond its ceiling and lets it stand at zero", () => {
    const high = Math.floor(plateCode(55));
    expect(tripLimitsOf(rail("plate"), plan)).toEqual([
      { channel: "plate.source", low: 0, high },
      { channel: "plate.board", low: 0, high },
    ]);
  });

  it("trips at the last code even where the divider ends below the ceiling", () => {
    const beyond = { ...rail("plate"), ceilingV: 70 };
    expect(plateCode(70)).toBeGreaterThan(1023);
    expect(tripLimitsOf(beyond, plan).map(({ high }) => high)).toEqual([1022, 1022]);
  });

  it("trips heater beyond its ceiling, a fraction of a step early and never late", () => {
    // 47 k over 22 k: 14 V is 4.4638 V at the pin, code 914.2.
    expect(tripLimitsOf(rail("heater"), plan).map(({ high }) => high)).toEqual([914, 914]);
  });

  it("trips bias outside its window on both sides, rounded inward", () => {
    const [source, board] = tripLimitsOf(rail("bias"), plan);
    expect(board).toEqual({
      channel: "bias.board",
      low: Math.ceil(biasCode(-26.4)),
      high: Math.floor(biasCode(-21.6)),
    });
    expect(source).toEqual({ ...board, channel: "bias.source" });
    expect(board?.low).toBeLessThan(board?.high ?? 0);
  });
});

describe("plateFallenCode(plate, plan)", () => {
  it("is never above the plate's safe volts", () => {
    expect(plateFallenCode(rail("plate"), plan)).toBe(Math.floor(plateCode(10)));
  });
});
