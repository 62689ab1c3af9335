/** What a record says of times in which nothing was counted. */
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import type { SoakEvent } from "../../src/events/soak.ts";
import { RecordFold } from "../../src/record/record-fold.ts";
import { recordLines } from "../../src/record/record-lines.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { order } from "./soak-night.ts";

type LegBegun = Extract<SoakEvent, { kind: "leg-begun" }>;

const opened = healthyEvents.find((event) => event.kind === "run-opened");

/** A soak of several legs, each a minute long, and how each began. */
function recordOf(begun: readonly Partial<LegBegun>[], isClosed = true) {
  if (opened === undefined) throw new Error("The run has no opening.");
  const events: { ms: number; event: RunEvent }[] = [
    { ms: 0, event: { ...opened, version: 4, mode: "soak", soak: order } },
  ];
  for (const [at, change] of begun.entries()) {
    const ms = at * 120_000;
    const wall = `2026-05-02T22:0${2 * at}:00.000+00:00`;
    const leg: LegBegun = {
      kind: "leg-begun",
      leg: at + 1,
      why: "first",
      wall,
      gapMs: 0,
      tornBytes: 0,
      ...change,
    };
    events.push({ ms, event: leg });
    if (at < begun.length - 1 && begun[at + 1]?.why === "host crash") continue;
    const end = { cause: "completed" as const, detail: "", provedOff: true };
    events.push({ ms: ms + 60_000, event: { kind: "leg-ended", leg: at + 1, ...end } });
  }
  const closing = healthyEvents.find((event) => event.kind === "run-closed");
  if (isClosed && closing !== undefined) {
    events.push({ ms: begun.length * 120_000, event: closing });
  }
  const record = new RecordFold();
  for (const [n, { ms, event }] of events.entries()) {
    record.take({ n, ms, before: "", event });
  }
  const made = record.record();
  const text = recordLines(made).join("\n").replace(/\s+/g, " ");
  return { record: made, text };
}

describe("gaps in the record of a soak", () => {
  it("are none where power went off and on again as planned, however often", () => {
    const { record, text } = recordOf([{}, { why: "power cycle" }, { why: "power cycle" }]);
    expect(record.gaps).toEqual([]);
    expect(text).toContain(
      "ended: completed, every rail proved off and 2 more, of plain power cycles",
    );
    expect(text).not.toContain("nothing was counted");
  });

  it.each([
    ["host crash", 95_000, "1 min 35 s"],
    ["link lost", 4000, "4 s"],
    ["mains cut", 7_200_000, "2 h 0 min"],
  ] as const)("say how long nothing was counted after a %s", (why, gapMs, words) => {
    const { record, text } = recordOf([{}, { why, gapMs }]);
    expect(record.gaps).toHaveLength(1);
    expect(record.gaps[0]).toContain(
      `leg 2 began at 120.0 s, ${(gapMs / 1000).toFixed(1)} s later`,
    );
    expect(record.gaps[0]).toContain(`after a ${why}`);
    expect(text).toContain(`after ${why}; nothing was counted for ${words}`);
  });

  it("say that no clock tells their length, where that is so, and make none up", () => {
    const { record, text } = recordOf([{}, { why: "host crash", gapMs: null }]);
    expect(record.gaps[0]).toContain("after a time that no clock tells");
    expect(text).toContain("nothing was counted for a time that no clock tells");
  });

  it("say how much was torn off", () => {
    const { record, text } = recordOf([{}, { why: "host crash", gapMs: 5000, tornBytes: 217 }]);
    expect(record.gaps[0]).toContain("217 bytes that were never sealed were dropped");
    expect(text).toContain("217 bytes that were never sealed were dropped");
  });

  it("say that a run was cut off, and which line was torn", () => {
    const { record, text } = recordOf([{}, { why: "host crash", gapMs: 5000 }], false);
    expect(record.gaps.at(-1)).toContain("never closed");
    expect(text).toContain("the run was cut off");
  });

  it("are told up to a hundred, and counted beyond", () => {
    const legs = Array.from({ length: 131 }, (_, at): Partial<LegBegun> => {
      return at === 0 ? {} : { why: "link lost", gapMs: 1000 };
    });
    const { record } = recordOf(legs);
    expect(record.gaps).toHaveLength(101);
    expect(record.gaps[100]).toBe("and 30 more such gaps");
  });
});
