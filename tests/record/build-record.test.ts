import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import { sha256Hex } from "../../src/journal/line.ts";
import { parseJournal } from "../../src/journal/read-journal.ts";
import { noReading } from "../../src/measure/reading.ts";
import type { AcceptanceRecord } from "../../src/record/acceptance-record.ts";
import { buildRecord } from "../../src/record/build-record.ts";
import { recordText } from "../../src/record/write-record.ts";
import { judgeReading } from "../../src/verdict/judge.ts";
import {
  closed,
  fall,
  healthyEvents,
  healthyUpTo,
  judgedNet,
  latchPlan,
  opened,
  powerDown,
  reading,
} from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";

function recordOf(events: readonly RunEvent[]): AcceptanceRecord {
  return buildRecord(writeRun(events).entries);
}

const healthy = recordOf(healthyEvents);

describe("the record of a pass", () => {
  it("says what it is, of what, by which rule and how far it reaches", () => {
    expect(healthy).toMatchObject({
      format: "holdfast-record",
      version: 3,
      status: "draft, not released",
      number: null,
      release: null,
      verdict: "pass",
      unit: "FL-07",
      board: { name: "flasher-latch", revision: "A" },
      rule: {
        decision: "simple acceptance; uncertainty not evaluated",
        uncertainty: "uncertainty not evaluated",
        contract: { volV: 14, vilV: 18, vihV: 32, vohV: 36 },
      },
      claims: ["easy drive"],
      conditions: { bench: "emulated", controller: { firmware: "1.0", bootCount: 3 } },
      doubts: [],
      gaps: [],
    });
    expect(healthy.files).toEqual(latchPlan.sources);
    expect(healthy.scope).toMatch(/unit FL-07 of board flasher-latch revision A.* on 2026-05-02\./);
    expect(healthy.scope).toContain("bench and date were simulated");
  });

  it("names the rig's newest full check, and says nothing where the journal is older than that", () => {
    expect(healthy).not.toHaveProperty("rigCheck");
    const rigCheck = {
      at: "2026-05-01T09:00:00.000+00:00",
      depth: "full",
      id: "c65b7fee5117",
      fit: true,
      ageMs: 3_600_000,
      sameRig: true,
    } as const;
    const [first, ...rest] = healthyEvents;
    if (first?.kind !== "run-opened") throw new Error("a run begins with its opening");
    expect(recordOf([{ ...first, rigCheck }, ...rest]).rigCheck).toEqual(rigCheck);
    expect(recordOf([{ ...first, rigCheck: null }, ...rest]).rigCheck).toBeNull();
  });

  it("counts every result by net and class, with the worst case against the sender's limit", () => {
    const total = (channel: string, expected: string) =>
      healthy.results.find((one) => one.channel === channel && one.expected === expected);
    // One pattern reading of Q low, and 20 sets in the flip of the hold: 5000 ms at 250 ms.
    expect(total("Q", "low")).toEqual({
      channel: "Q",
      kind: "net",
      expected: "low",
      count: 21,
      passed: 21,
      conditionallyPassed: 0,
      conditionallyFailed: 0,
      failed: 0,
      voided: 0,
      worst: { volts: 9.8, limitV: 14, marginV: expect.closeTo(4.2, 9), step: 1 },
    });
    expect(total("Q", "high")).toMatchObject({
      count: 480,
      worst: { volts: 44.7, limitV: 36, step: 1 },
    });
    expect(total("SET", "low")).toMatchObject({
      kind: "driven line",
      count: 1,
      worst: { volts: 0.2, limitV: 18 },
    });
  });

  it("states what a hold watched and what it did not", () => {
    expect(healthy.holds[0]).toMatchObject({
      part: "hold",
      result: "pass",
      requiredMs: 120_000,
      heldMs: 120_000,
      readingSets: 480,
      meanIntervalMs: 251,
      movedLines: ["LAMP"],
      moves: 240,
      watched:
        "Q high, QN low in 480 sets of readings over 120.0 s, one every 251 ms on average, while LAMP moved 240 times",
      notWatched: "what happened between two readings",
    });
    expect(healthy.holds[1]).toMatchObject({ part: "flip", heldMs: 5000, movedLines: [] });
  });

  it("gives each rail's volts at its gates and the proof of its fall", () => {
    expect(
      healthy.rails.map(({ rail, sourceV, boardV, fall: proof }) => [rail, sourceV, boardV, proof]),
    ).toEqual([
      ["heater", 12.6, 12.6, "verified"],
      ["bias", -24, -24, "verified"],
      ["plate", 48, 48, "verified"],
    ]);
  });

  it("carries warm-up times by net as from heaters on", () => {
    expect(healthy.warmUp).toMatchObject({
      warm: true,
      tookMs: 14_400,
      nets: [
        { net: "QN", validByMs: 11_200, steadyByMs: 14_300 },
        { net: "Q", validByMs: 11_400, steadyByMs: 14_400 },
      ],
      cold: [],
    });
  });

  it("tells how warm it was where the rig's own sensor was read, and says nothing else of it", () => {
    expect(healthy.conditions.celsius).toBeNull();
    const sensor = {
      name: "temperature",
      number: 11,
      reads: { kind: "temperature" as const, zeroV: 0.5, voltsPerK: 0.01 },
      divider: { topOhm: 0, bottomOhm: 1, pullUpOhm: null },
      referenceV: 5,
    };
    const [first, ...rest] = healthyEvents;
    if (first?.kind !== "run-opened") throw new Error("a run begins with its opening");
    const plan = { ...first.plan, channels: [...first.plan.channels, sensor] };
    const watch = (volts: number | null): RunEvent => ({
      kind: "watch",
      readings: [
        volts === null ? noReading("temperature", "torn") : reading("temperature", volts),
        reading("Q", 44.8),
      ],
    });
    // 0.5 V at 0 degrees and 10 mV a kelvin: 0.71 V is 21 degrees, 0.7345 V 23.45.
    const warmed = recordOf([{ ...first, plan }, watch(0.71), watch(null), watch(0.7345), ...rest]);
    expect(warmed.conditions.celsius).toEqual({
      lowest: expect.closeTo(21, 9),
      highest: expect.closeTo(23.45, 9),
      readings: 2,
    });
  });

  it("says where the run departed from its method and what it remarked on, each thing once", () => {
    expect(healthy.departures).toEqual([
      "unit and bench were simulated",
      "uncertainty not evaluated",
    ]);
    const remark: RunEvent = { kind: "remark", text: "look at /home/keeper/x: coil warm" };
    const many = Array.from(
      { length: 45 },
      (_, index): RunEvent => ({ kind: "remark", text: `remark ${index}` }),
    );
    const record = recordOf([
      { ...opened, bench: "/dev/ttyACM0", rigCheck: null } as RunEvent,
      remark,
      remark,
      ...many,
      { ...closed("not tested", "stopped by the person") },
    ]);
    expect(record.departures).toEqual([
      "not taken to its end: stopped by the person",
      "uncertainty not evaluated",
    ]);
    expect(record.remarks).toHaveLength(41);
    expect(record.remarks[0]).toBe("look at (a path): coil warm");
    expect(record.remarks.at(-1)).toBe("and 6 more in the journal");
  });

  it("of a modelled controller is as simulated as of an emulated one", () => {
    const [first, ...rest] = healthyEvents;
    if (first?.kind !== "run-opened") throw new Error("a run begins with its opening");
    const record = recordOf([{ ...first, bench: "modelled bench" }, ...rest]);
    expect(record.conditions.bench).toBe("modelled");
    expect(record.scope).toContain("bench and date were simulated");
    expect(record.departures).toContain("unit and bench were simulated");
  });

  it("pins the journal it was made from by its last hash and length", () => {
    const { bytes } = writeRun(healthyEvents);
    const lines = bytes.toString("utf8").split(/(?<=\n)/);
    expect(healthy.journal).toEqual({
      format: "holdfast-journal",
      version: 1,
      lines: lines.length,
      lastHash: sha256Hex(lines.at(-1) ?? ""),
    });
    expect(buildRecord(parseJournal(bytes).entries)).toEqual(healthy);
  });
});

describe("the record of another end", () => {
  it("keeps a failed hold's readings whole and counts them beside the sets that passed", () => {
    const missed: RunEvent = {
      kind: "reading",
      step: 1,
      part: "hold",
      readings: [judgedNet("Q", "high", 34.6), judgedNet("QN", "low", 9.7)],
    };
    const record = recordOf([
      ...healthyUpTo((event) => event.kind === "hold-progress" && event.elapsedMs === 60_000),
      missed,
      { kind: "step-ended", step: 1, result: "fail" },
      ...powerDown,
      closed("fail", "first fail"),
    ]);
    expect(record.verdict).toBe("fail");
    expect(record.results.find((one) => one.channel === "Q" && one.expected === "high")).toEqual({
      channel: "Q",
      kind: "net",
      expected: "high",
      count: 241,
      passed: 240,
      conditionallyPassed: 0,
      conditionallyFailed: 0,
      failed: 1,
      voided: 0,
      worst: { volts: 34.6, limitV: 36, marginV: expect.closeTo(-1.4, 9), step: 1 },
    });
    expect(record.firstMiss).toMatchObject({ step: 1, net: "Q", volts: 34.6 });
    expect(record.steps[1]).toMatchObject({ result: "fail", kind: "hold" });
    expect(record.steps[1]?.readings.at(-2)).toMatchObject({
      part: "hold",
      channel: "Q",
      result: "fail",
      reason: "margin short",
    });
  });

  it("counts a reading that gave none as void, without a worst case", () => {
    const record = recordOf([
      ...healthyUpTo((event) => event.kind === "step-begun" && event.step === 0),
      {
        kind: "reading",
        step: 0,
        part: "pattern",
        readings: [judgeReading(noReading("Q", "clipped"), "low", latchPlan)],
      },
      ...powerDown,
      closed("void"),
    ]);
    expect(record.results).toEqual([
      {
        channel: "Q",
        kind: "net",
        expected: "low",
        count: 1,
        passed: 0,
        conditionallyPassed: 0,
        conditionallyFailed: 0,
        failed: 0,
        voided: 1,
        worst: null,
      },
    ]);
    expect(record.steps.map(({ result }) => result)).toEqual(["not tested", "not tested"]);
  });

  it("of a run that was cut off says so, and calls no rail off that nobody saw fall", () => {
    const cut = buildRecord(
      writeRun(healthyUpTo((event) => event.kind === "step-ended")).entries,
      38,
    );
    expect(cut.verdict).toBe("void");
    expect(cut.cause).toBeNull();
    expect(cut.closed).toBeNull();
    expect(cut.gaps).toEqual([
      "line 38 of the journal was torn and is not counted",
      "the journal was never closed: the run was cut off, its end is not known",
    ]);
    expect(cut.rails.map((one) => one.fall)).toEqual(["unproved", "unproved", "unproved"]);
  });

  it("prints a fall that is not proved and why the bench is in doubt", () => {
    const record = recordOf(
      healthyEvents.map((event) =>
        event.kind === "rail-fall" && event.rail === "plate" ? fall("plate", "lead lost") : event,
      ),
    );
    expect(record.verdict).toBe("void");
    expect(record.rails.find(({ rail }) => rail === "plate")?.fall).toBe("lead lost");
    expect(record.doubts.join()).toContain("plate NOT proved off");
  });

  it("prints a gap in time while rails were up, and none while they were down", () => {
    const { entries } = writeRun(healthyEvents);
    const at = entries.findIndex(({ event }) => event.kind === "warm-up-ended");
    const late = (from: number) =>
      entries.map((entry) => (entry.n >= from ? { ...entry, ms: entry.ms + 9000 } : entry));
    expect(buildRecord(late(at)).gaps.join()).toMatch(
      /nothing was sealed from .* although rails were up/,
    );
    expect(buildRecord(late(1)).gaps).toEqual([]);
  });

  it("names neither ports nor paths of the host", () => {
    const record = recordOf([
      { ...opened, bench: "/dev/ttyACM0" } as RunEvent,
      {
        kind: "fault",
        code: "port-vanished",
        message: "/dev/ttyACM0 went away, see /home/keeper/runs/x.ndjson or COM3",
        net: null,
      },
      { ...closed("void", "link lost"), detail: "lost C:\\Users\\keeper\\runs" } as RunEvent,
    ]);
    const text = recordText(record);
    expect(text).not.toMatch(/ttyACM0|keeper|COM3|\/home|C:/);
    expect(record.conditions.bench).toBe("port");
    expect(record.doubts).toEqual(["(a path) went away, see (a path) or (a path)"]);
  });

  it("is refused without a run", () => {
    expect(() => buildRecord([])).toThrow(/begin with the opening of a run/);
  });
});
