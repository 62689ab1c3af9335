/** Divider arithmetic against published worked numbers, and designs against what was asked of them. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { filterUs, rangeV, voltsPerCode } from "../../src/measure/divider.ts";
import { type DesignChoices, designDivider } from "../../src/measure/divider-design.ts";
import {
  chargeSharingSteps,
  clampA,
  loadingV,
  openLeadV,
  pinSourceOhm,
  settlingMs,
} from "../../src/measure/divider-facts.ts";
import { decade, preferredBetween, SERIES_NAMES } from "../../src/measure/preferred-values.ts";
import { singleCodeOf } from "./code-of.ts";

interface Row {
  readonly topOhm: number;
  readonly bottomOhm: number;
}
interface Worked {
  readonly plain: (Row & {
    readonly maxV: number;
    readonly stepMv: number;
    readonly sourceKohm: number;
    readonly loadingPercent: Readonly<Record<string, number>>;
  })[];
  readonly clampMa: (Row & {
    readonly powered300: number;
    readonly unpowered300: number;
    readonly unpowered100: number;
    readonly minus50: number;
    readonly minus100: number;
  })[];
  readonly published: readonly [
    Row & { readonly nodeV: number; readonly unclampedV: number; readonly clampMa: number },
    Row & { readonly maxV: number; readonly sourceKohm: number },
  ];
  readonly settling: (Row & {
    readonly capacitorNf: number;
    readonly tauMs: number;
    readonly halfStepMs: number;
  })[];
  readonly offset: (Row & {
    readonly pullUpOhm: number;
    readonly lowV: number;
    readonly highV: number;
    readonly sourceKohm: number;
    readonly openLeadCode: number;
    readonly codes: Readonly<Record<string, number>>;
  })[];
  readonly holdCapacitor: { readonly capacitorForHalfStepNf: number };
}

const textOf = (name: string) =>
  readFileSync(new URL(`../references/electronics/${name}`, import.meta.url), "utf8");
const worked = JSON.parse(textOf("divider-worked-numbers.json")) as Worked;
const series = JSON.parse(textOf("e-series.json")) as Readonly<Record<string, readonly number[]>>;
const referenceV = 5;

describe("divider arithmetic", () => {
  it.each(worked.plain)("agrees with the worked numbers of $topOhm / $bottomOhm", (row) => {
    const divider = { topOhm: row.topOhm, bottomOhm: row.bottomOhm, pullUpOhm: null };
    expect(rangeV(divider, referenceV).highV).toBeCloseTo(row.maxV, 1);
    expect(1000 * voltsPerCode(divider, referenceV)).toBeCloseTo(row.stepMv, 1);
    expect(pinSourceOhm(divider) / 1000).toBeCloseTo(row.sourceKohm, 1);
    for (const [sourceOhm, percent] of Object.entries(row.loadingPercent)) {
      const moved = loadingV(100, divider, { sourceOhm: Number(sourceOhm), referenceV });
      expect(moved).toBeCloseTo(percent, 2);
    }
  });

  it.each(worked.clampMa)("agrees on the clamp current of $topOhm / $bottomOhm", (row) => {
    const divider = { topOhm: row.topOhm, bottomOhm: row.bottomOhm, pullUpOhm: null };
    const ma = (volts: number, supplyV: number) => 1000 * clampA(volts, divider, supplyV);
    expect(ma(300, 5)).toBeCloseTo(row.powered300, 2);
    expect(ma(300, 0)).toBeCloseTo(row.unpowered300, 2);
    expect(ma(100, 0)).toBeCloseTo(row.unpowered100, 2);
    expect(ma(-50, 5)).toBeCloseTo(row.minus50, 2);
    expect(ma(-100, 5)).toBeCloseTo(row.minus100, 2);
    expect(ma(10, 5)).toBe(0);
  });

  it("agrees with two published examples", () => {
    const [dump, range] = worked.published;
    const high = { topOhm: dump.topOhm, bottomOhm: dump.bottomOhm, pullUpOhm: null };
    expect(1000 * clampA(dump.nodeV, high, 5)).toBeCloseTo(dump.clampMa, 2);
    expect((dump.nodeV * dump.bottomOhm) / (dump.topOhm + dump.bottomOhm)).toBeCloseTo(
      dump.unclampedV,
      2,
    );
    const low = { topOhm: range.topOhm, bottomOhm: range.bottomOhm, pullUpOhm: null };
    expect(rangeV(low, referenceV).highV).toBeCloseTo(range.maxV, 2);
    expect(pinSourceOhm(low) / 1000).toBeCloseTo(range.sourceKohm, 2);
  });

  it.each(worked.settling)("agrees on settling of $topOhm with $capacitorNf nF", (row) => {
    const divider = { topOhm: row.topOhm, bottomOhm: row.bottomOhm, pullUpOhm: null };
    expect(filterUs(divider, row.capacitorNf) / 1000 / row.tauMs).toBeCloseTo(1, 2);
    expect(settlingMs(divider, row.capacitorNf) / row.halfStepMs).toBeCloseTo(1, 2);
  });

  it.each(worked.offset)(
    "agrees on the offset divider $topOhm / $bottomOhm / $pullUpOhm",
    (row) => {
      const divider = { topOhm: row.topOhm, bottomOhm: row.bottomOhm, pullUpOhm: row.pullUpOhm };
      const { lowV, highV } = rangeV(divider, referenceV);
      expect(lowV).toBeCloseTo(row.lowV, 1);
      expect(highV).toBeCloseTo(row.highV, 1);
      expect(pinSourceOhm(divider) / 1000).toBeCloseTo(row.sourceKohm, 1);
      expect(Math.floor((1024 * openLeadV(divider, referenceV)) / referenceV)).toBe(
        row.openLeadCode,
      );
      for (const [volts, code] of Object.entries(row.codes)) {
        expect(singleCodeOf(Number(volts), divider, referenceV)).toBe(code);
      }
    },
  );

  it("wants 28.7 nF for half a step of charge sharing", () => {
    const nf = worked.holdCapacitor.capacitorForHalfStepNf;
    expect(chargeSharingSteps(nf)).toBeCloseTo(0.5, 2);
  });
});

describe("preferred values", () => {
  it.each(SERIES_NAMES)("%s are those of IEC 60063", (name) => {
    expect(decade(name)).toEqual(series[name]);
  });

  it("run over decades without dust, both ends included", () => {
    expect(preferredBetween("E6", 4700, 100_000)).toEqual([
      4700, 6800, 10_000, 15_000, 22_000, 33_000, 47_000, 68_000, 100_000,
    ]);
  });
});

const PLATE: DesignChoices = {
  node: { low: { volts: 12, ohm: 6600 }, high: { volts: 48, ohm: 47_000 }, faultV: 60 },
  loadingPercent: 6,
  referenceV,
  series: "E24",
  capacitorNf: 33,
};

function designOf(choices: DesignChoices) {
  const result = designDivider(choices);
  if (!result.ok) throw new Error(result.reason);
  return result.design;
}

describe("a design", () => {
  it("reads the levels, loads no more than asked, and is the lowest that does", () => {
    const { divider, range, loadingPercent, clampMa } = designOf(PLATE);
    expect(range.highV).toBeGreaterThanOrEqual(48 * 1.05);
    expect(loadingPercent).toBeLessThanOrEqual(6);
    expect(clampMa).toBeLessThanOrEqual(1);
    const tops = preferredBetween("E24", 1000, divider.topOhm - 1);
    const lower = { ...divider, topOhm: tops.at(-1) ?? 0 };
    const moved = loadingV(48, lower, { sourceOhm: 47_000, referenceV });
    expect(Math.abs(moved) / 36).toBeGreaterThan(0.06 * 0.95);
  });

  it("goes below common with a pull-up, and covers both ends", () => {
    const grid = { low: { volts: -24, ohm: 100 }, high: { volts: 0.5, ohm: 100 }, faultV: 60 };
    const { divider, range, remarks } = designOf({ ...PLATE, node: grid });
    expect(divider.pullUpOhm).not.toBeNull();
    expect(range.lowV).toBeLessThanOrEqual(-24 * 1.05);
    expect(range.highV).toBeGreaterThanOrEqual(0.5);
    expect(remarks.join()).toContain("A broken lead reads code");
  });

  it("refuses a pull-up on a grid of a megohm, and says what to do", () => {
    const grid = { low: { volts: -24, ohm: 1e6 }, high: { volts: 0, ohm: 1e6 }, faultV: 60 };
    expect(designDivider({ ...PLATE, node: grid })).toMatchObject({
      ok: false,
      reason: expect.stringContaining("a node of a megohm"),
      next: expect.stringContaining("follower"),
    });
  });

  it("refuses what no resistor can do, and levels that are exchanged", () => {
    expect(designDivider({ ...PLATE, loadingPercent: 0.01 })).toMatchObject({
      ok: false,
      reason: expect.stringContaining("more than 0.01 %"),
    });
    const turned = { ...PLATE.node, low: PLATE.node.high, high: PLATE.node.low };
    expect(designDivider({ ...PLATE, node: turned })).toMatchObject({ ok: false });
  });

  it("names the fault, not the loading, where only the clamp is overrun", () => {
    const refused = designDivider({ ...PLATE, node: { ...PLATE.node, faultV: 30_000 } });
    expect(refused).toMatchObject({
      ok: false,
      // (30 kV - 0.5 V) / 10 MOhm by hand, less what the bottom takes.
      reason: expect.stringMatching(/3\.00 mA into the pin's clamp at a fault of 30000 V/),
      next: expect.stringContaining("--fault"),
    });
  });

  it("takes higher resistors where a fault would push more than 1 mA into the pin", () => {
    const node = { low: { volts: 0, ohm: 1 }, high: { volts: 12, ohm: 1 }, faultV: 400 };
    const { divider, clampMa } = designOf({ ...PLATE, node, loadingPercent: 50 });
    expect(clampMa).toBeLessThanOrEqual(1);
    expect(divider.topOhm).toBeGreaterThan(300_000);
  });
});
