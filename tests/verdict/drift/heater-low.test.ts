/** Which section gives less when it is cooler, from sets of readings made by hand. */
import { describe, expect, it } from "vitest";
import type { DriftBoard, DriftSet } from "../../../src/verdict/drift/drift-set.ts";
import { heaterLow } from "../../../src/verdict/drift/heater-low.ts";

const nets = ["Q", "QN", "M", "MN", "S", "SN"];
const board: DriftBoard = {
  stages: nets.map((net, at) => ({
    section: `V${1 + (at >> 1)}${at % 2 === 0 ? "a" : "b"}`,
    position: `V${1 + (at >> 1)}`,
    inputs: [],
    output: net,
  })),
  contract: { volV: 14.5, vilV: 18.5, vihV: 31.5, vohV: 34.5 },
  measured: nets,
};

type Lows = Readonly<Record<string, number | null>>;

function set(moment: DriftSet["moment"], minutesOn: number, lows: Lows): DriftSet {
  const readings = Object.entries(lows).map(([net, volts]) => ({
    step: 0,
    net,
    class: "low" as const,
    volts,
  }));
  return {
    set: minutesOn,
    leg: 1,
    onHours: minutesOn / 60,
    minutesOn,
    moment,
    readings,
    rails: {},
    referenceV: null,
    celsius: null,
  };
}

const at = (volts: number, change: Lows = {}): Lows => ({
  ...Object.fromEntries(nets.map((net) => [net, volts])),
  ...change,
});

/** Before the night, and after it; every level 40 mV up where the heaters are low. */
function night({ begin = {}, end = {} }: { begin?: Lows; end?: Lows } = {}): DriftSet[] {
  return [
    set("begin", 1, at(11.9)),
    set("heater low", 5, at(11.74, begin)),
    set("settled", 9, at(11.7)),
    set("settled", 300, at(11.7)),
    set("heater low", 600, at(11.74, end)),
    set("end", 604, at(11.7)),
  ];
}

describe("heaterLow(sets, board)", () => {
  it("names nobody where all rise alike, and says what it would have named", () => {
    const report = heaterLow(night(), board);
    expect(report?.findings).toEqual([]);
    expect(report?.levels[0]?.beginV).toBeCloseTo(0.04, 6);
    expect(report?.smallestV.sisters).toBeGreaterThan(0.05);
  });

  it("names the section that rises more than its sisters", () => {
    const report = heaterLow(night({ begin: { M: 12.3 }, end: { M: 12.3 } }), board);
    expect(report?.findings).toMatchObject([
      { kind: "weak when cooler", against: "sisters", net: "M", sections: ["V2a"] },
    ]);
    expect(report?.findings[0]?.riseV).toBeCloseTo(0.6, 6);
  });

  it("names the one of two that rises more at the end than at the beginning", () => {
    const pair = night({ end: { Q: 12.1 } }).map((one) => ({
      ...one,
      readings: one.readings.filter(({ net }) => net === "Q" || net === "QN"),
    }));
    const report = heaterLow(pair, board);
    expect(report?.findings).toMatchObject([{ against: "run", net: "Q", sections: ["V1a"] }]);
    expect(report?.smallestV.sisters).toBeNull();
  });

  it("names one of two that was weak from the beginning by the limit of the sequence, and by nothing else", () => {
    const pair = night({ begin: { Q: 12.3 }, end: { Q: 12.3 } }).map((one) => ({
      ...one,
      readings: one.readings.filter(({ net }) => net === "Q" || net === "QN"),
    }));
    expect(heaterLow(pair, board)?.findings).toEqual([]);
    const report = heaterLow(pair, { ...board, riseMaxV: 0.25 });
    expect(report?.findings).toMatchObject([
      { against: "limit", net: "Q", sections: ["V1a"], limitV: 0.25 },
    ]);
    expect(report?.smallestV.limit).toBe(0.25);
    expect(heaterLow(pair, { ...board, riseMaxV: 0.65 })?.findings).toEqual([]);
  });

  it("names a section once, however many rules it breaks", () => {
    const weak = night({ begin: { M: 12.3 }, end: { M: 12.9 } });
    const report = heaterLow(weak, { ...board, riseMaxV: 0.25 });
    expect(report?.findings.map(({ net }) => net)).toEqual(["M"]);
  });

  it("takes what all do alike at the end for the rail's", () => {
    expect(heaterLow(night({ end: at(12.4) }), board)?.findings).toEqual([]);
  });

  it("names nobody for what the run's own noise covers, and says that it would take more", () => {
    const noisy = (volts: number) => (at: DriftSet, index: number) => ({
      ...at,
      readings: at.readings.map((one) => ({
        ...one,
        volts: at.moment === "settled" ? 11.7 + (index % 2 === 0 ? volts : -volts) : one.volts,
      })),
    });
    const [begin, low, ...rest] = night({ end: { Q: 12.1 } });
    const between = Array.from({ length: 20 }, (_, index) => set("settled", 20 + index, at(11.7)));
    const sets = [begin, low, ...between, ...rest].filter((one) => one !== undefined);
    const quiet = heaterLow(sets, { ...board, measured: ["Q", "QN"] });
    const loud = heaterLow(sets.map(noisy(0.1)), { ...board, measured: ["Q", "QN"] });
    expect(quiet?.findings).not.toEqual([]);
    expect(loud?.findings).toEqual([]);
    expect(loud?.smallestV.run ?? 0).toBeGreaterThan(quiet?.smallestV.run ?? 1);
  });

  it("makes nothing of a level that was not read, nor of a run without such sets", () => {
    const report = heaterLow(night({ begin: { M: null }, end: { M: null } }), board);
    expect(report?.levels.find(({ net }) => net === "M")).toBeUndefined();
    expect(
      heaterLow(
        night().filter(({ moment }) => moment !== "heater low"),
        board,
      ),
    ).toBeNull();
  });

  it("holds a set to the one after it, and to the one before where the run broke off", () => {
    const [begin, low] = night();
    const broken = [begin, low].filter((one) => one !== undefined);
    expect(heaterLow(broken, board)?.levels[0]?.beginV).toBeCloseTo(-0.16, 6);
  });

  it("calls sections whose net is not read by the net that shows them", () => {
    const driven = {
      ...board,
      measured: ["Q"],
      stages: board.stages.map((one) => (one.output === "Q" ? { ...one, inputs: ["QN"] } : one)),
    };
    const only = night({ end: { Q: 12.1 } }).map((one) => ({
      ...one,
      readings: one.readings.filter(({ net }) => net === "Q"),
    }));
    expect(heaterLow(only, driven)?.findings).toMatchObject([{ net: "Q", behind: ["V1b"] }]);
  });
});
