import { describe, expect, it } from "vitest";
import type { UnitHistory } from "../../../src/events/unit-history.ts";
import { assessDrift, WARMING_MINUTES } from "../../../src/verdict/drift/assess-drift.ts";
import type { DriftBoard, DriftSet } from "../../../src/verdict/drift/drift-set.ts";
import {
  couldSeeWords,
  findingWords,
  remarkWords,
} from "../../../src/verdict/drift/drift-words.ts";
import type { DriftFinding } from "../../../src/verdict/drift/report.ts";
import { LOW_PER, type MadeNight, type MadeSection, madeNight } from "./made-night.ts";

const CONTRACT = { volV: 14.5, vilV: 18.5, vihV: 31.5, vohV: 34.5 };
const LATCH_BOARD: DriftBoard = {
  stages: [
    { section: "V1a", position: "V1", inputs: ["SET", "Q"], output: "QN" },
    { section: "V1b", position: "V1", inputs: ["RESET", "QN"], output: "Q" },
  ],
  contract: CONTRACT,
  measured: ["Q", "QN"],
};

/** As the divider's master and slave are, but MS and MR are not read. */
const SIX: readonly MadeSection[] = ["MN", "M", "QN", "Q", "OUT", "CLKN"].map((net, at) => ({
  net,
  section: `V${2 + (at >> 1)}${at % 2 === 0 ? "a" : "b"}`,
}));
const SIX_BOARD: DriftBoard = {
  stages: [
    { section: "V1a", position: "V1", inputs: ["Q", "CLK"], output: "MS" },
    { section: "V1b", position: "V1", inputs: ["QN", "CLK"], output: "MR" },
    { section: "V2a", position: "V2", inputs: ["MS", "M"], output: "MN" },
    { section: "V2b", position: "V2", inputs: ["MR", "MN"], output: "M" },
    { section: "V3a", position: "V3", inputs: ["MN", "Q"], output: "QN" },
    { section: "V3b", position: "V3", inputs: ["M", "QN"], output: "Q" },
    { section: "V4a", position: "V4", inputs: ["Q"], output: "OUT" },
    { section: "V4b", position: "V4", inputs: ["CLK"], output: "CLKN" },
  ],
  contract: CONTRACT,
  measured: SIX.map(({ net }) => net),
};

function assess(
  night: MadeNight,
  board: DriftBoard = LATCH_BOARD,
  history: UnitHistory | null = null,
) {
  return assessDrift(madeNight(night), board, { plannedHours: null, history });
}

function only<T>(of: readonly T[]): T {
  expect(of).toHaveLength(1);
  return of[0] as T;
}

function weak(of: readonly DriftFinding[]) {
  const one = only(of);
  if (one.kind !== "loses emission") throw new Error(`found ${one.kind}`);
  return one;
}

describe("drift of a run", () => {
  it("says nothing against a section of healthy nights whose rails, reference and room move", () => {
    for (let seed = 0; seed < 20; seed += 1) {
      expect(assess({ seed: `healthy ${seed}` }).findings).toEqual([]);
    }
  });

  it.each(["V1a", "V1b"])(
    "names %s where it alone loses a hundredth of its emission",
    (section) => {
      for (let seed = 0; seed < 5; seed += 1) {
        const found = weak(assess({ seed: `weak ${seed}`, loss: { [section]: 0.01 } }).findings);
        expect(found.sections).toEqual([section]);
        // The interval for 95 % is of the drift from first set to last that counts.
        expect(found.lowV).toBeLessThan(-0.01 * LOW_PER.emission);
        expect(found.highV).toBeGreaterThan(-0.0095 * LOW_PER.emission);
      }
    },
  );

  it("states an interval that holds the true drift in 95 of 100 nights or so", () => {
    const nights = 60;
    const trueV = -0.02 * LOW_PER.emission;
    let inside = 0;
    for (let seed = 0; seed < nights; seed += 1) {
      const report = assess({ seed: `interval ${seed}`, loss: { V1a: 0.02 } });
      const { drift } = only(
        report.levels.filter((one) => one.net === "QN" && one.class === "low"),
      );
      // First and last sets stand half an hour after the begin and a moment before the end.
      const seenV = trueV * (drift.spanHours / 12);
      if (Math.abs(drift.driftV - seenV) < 1.96 * drift.sdV) inside += 1;
    }
    // Binomial: fewer than 50 of 60 at 95 % has a chance of 1 in 1600.
    expect(inside).toBeGreaterThanOrEqual(50);
  });

  it("tells a level that jumps from one that slopes, and when", () => {
    const step = { section: "V1b", volts: 0.1, atHour: 5 };
    const found = only(assess({ seed: "joint", step }).findings);
    if (found.kind !== "level step") throw new Error(`found ${found.kind}`);
    expect(found.sections).toEqual(["V1b"]);
    expect(found.stepV).toBeCloseTo(0.1, 1);
    expect(Math.abs(found.atHour - 5)).toBeLessThan(1);
    expect(weak(assess({ seed: "joint", loss: { V1b: 0.02 } }).findings).shape).toBe("line");
  });

  it("holds nothing against a section when all rise alike, and says that they do", () => {
    const two = assess({ seed: "alike", togetherV: 0.05 });
    const six = assess({ seed: "alike", sections: SIX, togetherV: 0.05 }, SIX_BOARD);
    for (const { findings, remarks } of [two, six]) {
      expect(findings).toEqual([]);
      expect(remarks.map(({ kind }) => kind)).toContain("moves together");
    }
  });

  it("parts one of six that moves alone from what all do alike", () => {
    const night = { seed: "one of six", sections: SIX, togetherV: 0.02, loss: { V3a: 0.02 } };
    const found = weak(assess(night, SIX_BOARD).findings);
    expect(found.sections).toEqual(["V3a"]);
  });

  it("does not tell a level that rose with the room all night from a tube, and says so", () => {
    // 17 mV of wear beside 9 K in a straight line, which a load of 100 ppm/K turns into 7 mV either way.
    const night: MadeNight = { seed: "cooling", still: true, kelvinPerHour: 0.75 };
    const report = assess({ ...night, loss: { V1a: 0.003 } });
    expect(report.findings).toEqual([]);
    const remarks = report.remarks.filter((one) => one.kind === "not separable");
    expect(remarks).toContainEqual(
      expect.objectContaining({ kind: "not separable", net: "QN", influence: "temperature" }),
    );
  });

  it("finds what is far more than temperature can do, though the room went one way all night", () => {
    const night: MadeNight = { seed: "cooling", still: true, kelvinPerHour: 0.75 };
    expect(weak(assess({ ...night, loss: { V1a: 0.02 } }).findings).sections).toEqual(["V1a"]);
  });

  it("names with a section those behind it whose outputs are not read", () => {
    const found = weak(
      assess({ seed: "behind", sections: SIX, loss: { V2a: 0.02 } }, SIX_BOARD).findings,
    );
    expect(found).toMatchObject({ sections: ["V2a"], behind: ["V1a"] });
    const { unread } = assess({ seed: "behind", sections: SIX }, SIX_BOARD);
    expect(unread).toEqual([
      { section: "V1a", net: "MS", seenWith: ["V2a"] },
      { section: "V1b", net: "MR", seenWith: ["V2b"] },
    ]);
  });

  it("leaves out what was read while a leg warmed up", () => {
    // A rise of a volt that is over in twenty minutes is no drift.
    const sets = madeNight({ seed: "warming" }).map((set) => ({
      ...set,
      readings: set.readings.map((one) => ({
        ...one,
        volts: one.volts === null ? null : one.volts + Math.exp(-set.minutesOn / 5),
      })),
    }));
    const report = assessDrift(sets, LATCH_BOARD, { plannedHours: null, history: null });
    expect(report.findings).toEqual([]);
    expect(report.leftOut.warmingUp).toBe(WARMING_MINUTES / 5);
  });

  it("is not moved by a set that reads odd, by one without a reading, nor by one without a rail", () => {
    const whole = madeNight({ seed: "odd" });
    const sets = whole.map((set, at): DriftSet => {
      if (at === 110) return { ...set, rails: { heater: 12.6 } };
      if (at !== 100 && at !== 120) return set;
      const volts = at === 100 ? 19 : null;
      return { ...set, readings: set.readings.map((one) => ({ ...one, volts })) };
    });
    const [odd, sound] = [sets, whole].map((of) =>
      assessDrift(of, LATCH_BOARD, { plannedHours: null, history: null }),
    );
    expect(odd?.findings).toEqual([]);
    expect(odd?.levels.map((one) => one.odd)).toEqual([1, 1, 1, 1]);
    expect(odd?.leftOut.incomplete).toBe(1);
    for (const [at, { drift }] of (odd?.levels ?? []).entries()) {
      const beside = sound?.levels[at]?.drift ?? { driftV: Number.NaN, sdV: 0 };
      expect(Math.abs(drift.driftV - beside.driftV)).toBeLessThan(beside.sdV);
    }
  });

  it("judges nothing from too few sets, and says what it needs", () => {
    const report = assess({ seed: "short", hours: 2 });
    expect(report.judged).toBe(false);
    expect(couldSeeWords(report)[0]).toMatch(
      /drift needs 24 full sets over 4 h .* got 18 over 1\.\d h/,
    );
  });

  it("finds a section that conducts badly in the first cycles after standing still", () => {
    const stood = (at: number) => at % 24 === 12;
    const sets = madeNight({ seed: "stood" }).map(
      (set, at): DriftSet =>
        stood(at)
          ? {
              ...set,
              moment: "first on",
              // Both rise a little, for warmth; V1a alone by a tenth of a volt more.
              readings: set.readings.map((one) =>
                one.class !== "low" || one.volts === null
                  ? one
                  : { ...one, volts: one.volts + (one.net === "QN" ? 0.14 : 0.04) },
              ),
            }
          : set,
    );
    const report = assessDrift(sets, LATCH_BOARD, { plannedHours: null, history: null });
    const found = only(report.findings);
    if (found.kind !== "slow to conduct") throw new Error(`found ${found.kind}`);
    expect(found.sections).toEqual(["V1a"]);
    expect(found.firstV).toBeCloseTo(0.1, 2);
    expect(found.times).toBe(6);
  });

  it("finds a high level that comes down alone, and no section that loses emission", () => {
    const sets = madeNight({ seed: "leak" }).map((set) => ({
      ...set,
      readings: set.readings.map((one) =>
        one.net === "Q" && one.class === "high" && one.volts !== null
          ? { ...one, volts: one.volts - 0.02 * set.onHours }
          : one,
      ),
    }));
    const report = assessDrift(sets, LATCH_BOARD, { plannedHours: null, history: null });
    expect(only(report.findings)).toMatchObject({ kind: "high level falls", net: "Q" });
  });

  it("sees clearly less drift once the unit's nights before have taught it the rails", () => {
    let history: UnitHistory | null = null;
    const smallest: number[] = [];
    for (let night = 0; night < 3; night += 1) {
      const report = assess({ seed: `taught ${night}`, unit: "LV-12" }, LATCH_BOARD, history);
      smallest.push(
        Math.max(...report.levels.filter((l) => l.class === "low").map((l) => l.smallestV)),
      );
      history = report.learned;
    }
    expect(smallest[2]).toBeLessThan(0.7 * (smallest[0] ?? 0));
    expect(history?.runs).toBe(3);
  });

  it("asks for far more of an early look than of the last, so that looking often costs nothing", () => {
    const sets = madeNight({ seed: "live", loss: { V1a: 0.02 } });
    const limits = [60, 100, 144].map((count) => {
      const report = assessDrift(sets.slice(0, count), LATCH_BOARD, {
        plannedHours: 12,
        history: null,
      });
      return report.levels[0]?.limitSd ?? 0;
    });
    expect(limits[0]).toBeGreaterThan(2 * (limits[2] ?? 0));
    expect(limits[1]).toBeGreaterThan(1.5 * (limits[2] ?? 0));
  });

  it("tells when VOL is reached if it goes on so, and gives the way out", () => {
    const report = assess({ seed: "words", loss: { V1a: 0.1 } });
    const words = findingWords(only(report.findings), report);
    expect(words.claim).toMatch(/^V1a conducts less and less: the low level of QN rose 5\d0 mV/);
    expect(words.claim).toMatch(/if it goes on so, it reaches VOL in \d+ h \(\d+ h to \d+ h\)/);
    expect(words.sure).toMatch(
      /a healthy run of 2 low levels shows as much once in a million runs/,
    );
    expect(words.next).toMatch(/swap V1 with a known good tube/);
    expect(report.remarks.map(remarkWords)).toEqual([]);
  });

  it("takes a net that a set reads in another order as the same net", () => {
    const night = madeNight({ seed: "order" });
    const usual = assessDrift(night, LATCH_BOARD, { plannedHours: null, history: null });
    const turned = night.map((set, at) =>
      at % 3 === 1 ? { ...set, readings: [...set.readings].reverse() } : set,
    );
    const again = assessDrift(turned, LATCH_BOARD, { plannedHours: null, history: null });
    for (const [at, { net, drift, noiseV }] of usual.levels.entries()) {
      const other = again.levels.find(
        (one) => one.net === net && one.class === usual.levels[at]?.class,
      );
      expect(other?.drift.driftV).toBeCloseTo(drift.driftV, 12);
      expect(other?.noiseV).toBeCloseTo(noiseV, 12);
    }
  });
});
