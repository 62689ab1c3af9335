/** Shunts, heaters on AC and the mains, as files may and may not have them. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { loadBoard } from "../../src/formats/board.schema.ts";
import { documentOf } from "../../src/formats/load-document.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { loadRig } from "../../src/formats/rig.schema.ts";
import { loadSequence } from "../../src/formats/sequence.schema.ts";
import { resolvePlan } from "../../src/plan/resolve-plan.ts";

type Change = readonly [from: string, to: string];

function resolved(folder: string, changes: Partial<Record<"board" | "rig" | "sequence", Change>>) {
  const read = (name: "board" | "rig" | "sequence"): string => {
    const path = join(import.meta.dirname, "../../sequences", folder, `${name}.yaml`);
    const text = readFileSync(path, "utf8");
    const [from, to] = changes[name] ?? ["", ""];
    if (!text.includes(from)) throw new Error(`${name}.yaml has no "${from}"`);
    return text.replace(from, to);
  };
  return resolvePlan({
    board: documentOf(loadBoard(read("board"), "board.yaml")),
    rig: documentOf(loadRig(read("rig"), "rig.yaml")),
    sequence: documentOf(loadSequence(read("sequence"), "sequence.yaml")),
    sources: [],
  });
}

function refusals(...given: Parameters<typeof resolved>): string[] {
  const result = resolved(...given);
  return result.ok ? [] : result.problems.map(problemLine);
}

function planOf(...given: Parameters<typeof resolved>) {
  const result = resolved(...given);
  if (!result.ok) throw new Error(result.problems.map(problemLine).join("\n"));
  return result.plan;
}

describe("the shunts of a rig", () => {
  it("become currents of their rails, in amperes, and a claim", () => {
    const plan = planOf("watch-adder", {});
    expect(plan.rails.map(({ rail, current }) => [rail, current?.lowA, current?.highA])).toEqual([
      ["heater", 0.38, 0.54],
      ["bias", undefined, undefined],
      ["plate", 0.004, 0.016],
    ]);
    expect(plan.claims).toContain("rail currents watched: heater, plate");
  });

  it("are refused where the board does not say what may be drawn", () => {
    expect(refusals("watch-adder", { board: ["currentMa: [4, 16], ", ""] })).toEqual([
      expect.stringMatching(
        /^rig\.yaml:\d+:\d+: plate: the board file does not say what plate may/,
      ),
    ]);
  });

  it("are refused where their divider cannot reach half as much again, with the volts", () => {
    expect(refusals("watch-adder", { rig: ["ohm: 15,", "ohm: 47,"] })).toEqual([
      expect.stringContaining("but -1.128 V to 0 V is what 24 mA make of 47 ohm"),
    ]);
  });

  it("are refused where a limit is a few code steps only", () => {
    expect(refusals("watch-adder", { rig: ["ohm: 15,", "ohm: 1,"] })).toEqual([
      expect.stringContaining("4 mA are fewer than 4 code steps"),
    ]);
    // 4 mA in 5 ohm are 20 mV, 3.4 steps of 5.86 mV; 16 mA would be 14 of them.
    expect(refusals("watch-adder", { rig: ["ohm: 15,", "ohm: 5,"] })).toEqual([
      expect.stringContaining("4 mA are fewer than 4 code steps"),
    ]);
    expect(
      refusals("watch-adder", {
        rig: ["ohm: 15,", "ohm: 5,"],
        board: ["currentMa: [4, 16]", "currentMa: [0, 16]"],
      }),
    ).toEqual([]);
  });

  it("are refused where a rail has two: its current would have two readings", () => {
    expect(
      refusals("watch-adder", { rig: ["channel: 16, rail: plate", "channel: 16, rail: heater"] }),
    ).toEqual(
      expect.arrayContaining([
        expect.stringMatching(/^rig\.yaml:\d+:\d+: heater: heater has a shunt already/),
      ]),
    );
  });

  it("are refused on a channel that reads something else, or none for them", () => {
    expect(refusals("watch-adder", { rig: ["channel: 16", "channel: 7"] })).toEqual([
      expect.stringContaining("channel 7 reads A already"),
    ]);
    expect(refusals("watch-adder", { rig: ["channel: 16", "channel: 23"] })).toEqual([
      expect.stringContaining("shunts are on channels 7 to 22"),
    ]);
  });
});

describe("heaters on AC", () => {
  it("are refused at their place, with the reason and what to do", () => {
    const [line = ""] = refusals("watch-adder", {
      board: ["heater: { nominalV: 12.6,", "heater: { supply: ac, nominalV: 12.6,"],
    });
    expect(line).toMatch(/^board\.yaml:\d+:\d+: ac: the converter reads DC to common/);
    expect(line).toContain("feed this rail from DC of the same heating volts");
  });
});

describe("the mains of a rig", () => {
  const mains = (hz: number): Change => ["samples: 16", `samples: 16\nmains: { hz: ${hz} }`];

  it("become whole periods in samples a millisecond apart", () => {
    expect(planOf("flasher-latch", { rig: mains(50) }).mains).toEqual({ hz: 50, samples: 20 });
    expect(planOf("flasher-latch", { rig: mains(60) }).mains).toEqual({ hz: 60, samples: 50 });
    // 20 samples of 1 ms are one period of 50 Hz, 50 are three of 60 Hz.
    expect((20 * 50) / 1000).toBe(1);
    expect((50 * 60) / 1000).toBe(3);
  });

  it("refuse a hold that reads again before a set of readings is over", () => {
    const slow = refusals("flasher-latch", {
      rig: mains(60),
      sequence: ["readEveryMs: 250", "readEveryMs: 150"],
    });
    expect(slow).toEqual([expect.stringContaining("over the mains of 60 Hz takes 200 ms")]);
    expect(refusals("flasher-latch", { rig: mains(60) })).toEqual([]);
  });
});
