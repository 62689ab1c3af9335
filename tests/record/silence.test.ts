import { describe, expect, it } from "vitest";
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import { SilenceWatch } from "../../src/record/silence.ts";

const up: RunEvent = { kind: "rail-switched", rail: "heater", on: true };
const down: RunEvent = { kind: "rail-switched", rail: "heater", on: false };
const remark: RunEvent = { kind: "remark", text: "a line" };

/** Ends of the silences in a journal of these events at these times. */
function silencesIn(events: readonly (readonly [ms: number, event: RunEvent])[]) {
  const watch = new SilenceWatch();
  return events.flatMap(
    ([ms, event], n) => watch.take({ n, ms, before: "", event } satisfies JournalEntry) ?? [],
  );
}

describe("SilenceWatch", () => {
  it("finds six seconds without a line while a rail is up", () => {
    expect(
      silencesIn([
        [0, up],
        [6000, remark],
      ]),
    ).toEqual([{ fromMs: 0, toMs: 6000 }]);
  });

  it("lets a rail that is down be silent", () => {
    expect(
      silencesIn([
        [0, up],
        [100, down],
        [60_000, remark],
      ]),
    ).toEqual([]);
  });

  it("knows that a soak writes a look a minute, and finds one that is missing", () => {
    const soaking: RunEvent = { kind: "phase", phase: "soaking" };
    const quiet = silencesIn([
      [0, up],
      [10, soaking],
      [60_010, remark],
      [120_010, remark],
    ]);
    expect(quiet).toEqual([]);
    const missing = silencesIn([
      [0, up],
      [10, soaking],
      [120_010, remark],
    ]);
    expect(missing).toEqual([{ fromMs: 10, toMs: 120_010 }]);
  });

  it("is as strict again when the soaking is over", () => {
    const soaking: RunEvent = { kind: "phase", phase: "soaking" };
    const over: RunEvent = { kind: "phase", phase: "powering down" };
    expect(
      silencesIn([
        [0, up],
        [10, soaking],
        [20, over],
        [9000, remark],
      ]),
    ).toHaveLength(1);
  });
});
