/**
 * A journal of each version that was ever written stays here and stays readable: the bytes are of
 * their day and are never made anew, unlike the record that today's program draws from them.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import { foldJournal } from "../../src/journal/fold.ts";
import { parseJournal } from "../../src/journal/read-journal.ts";
import { buildRecord } from "../../src/record/build-record.ts";
import { recordText } from "../../src/record/write-record.ts";
import { frozenEvents, handEvents } from "./by-person-run.ts";
import { guardedEvents } from "./guarded-run.ts";
import { healthyEvents } from "./latch-run.ts";
import { writeRun } from "./write-run.ts";

interface Kept {
  readonly name: string;
  readonly events: readonly RunEvent[];
  readonly verdict: string;
}

/** Version 2 in two: no run is both a proof and by hand. */
const kept: readonly Kept[] = [
  { name: "version-1", events: healthyEvents, verdict: "pass" },
  { name: "version-2", events: frozenEvents, verdict: "fail" },
  { name: "version-2-hand", events: handEvents, verdict: "not tested" },
  {
    name: "version-3",
    events: guardedEvents(13.8, "conditional pass"),
    verdict: "conditional pass",
  },
];

function bytesOf(name: string): Buffer {
  return readFileSync(new URL(`../golden/journal/${name}.ndjson`, import.meta.url));
}

function foldedFrom(name: string) {
  return foldJournal(parseJournal(bytesOf(name)).entries);
}

describe.each(kept)("the journal $name", ({ name, events, verdict }) => {
  it("reads whole and folds to its verdict", () => {
    const { entries, torn } = parseJournal(bytesOf(name));
    expect(torn).toBeNull();
    const run = foldJournal(entries);
    expect(run.verdict).toBe(verdict);
    expect(run.opened?.unit).toBe("FL-07");
  });

  it("is what the same events are written as today", () => {
    expect(writeRun(events).bytes.equals(bytesOf(name))).toBe(true);
  });

  it("gives the record kept beside it", async () => {
    const text = recordText(buildRecord(parseJournal(bytesOf(name)).entries));
    await expect(text).toMatchFileSnapshot(`../golden/journal/${name}-record.txt`);
  });
});

describe("the journal of version 1", () => {
  it("is of a proof, and shows its last readings", () => {
    const run = foldedFrom("version-1");
    expect(run.mode).toBe("proof");
    expect(run.channels.find(({ channel }) => channel === "Q")?.volts).toBe(9.4);
  });
});

describe("the journals of version 2", () => {
  it("count nothing that was repeated while frozen, and hold kept heaters against nobody", () => {
    const run = foldedFrom("version-2");
    expect(run.firstMiss).toMatchObject({ step: 0, net: "Q", volts: 21.4 });
    expect(run.account).toMatchObject({ failed: 2, doubts: [] });
    expect(run.channels.find(({ channel }) => channel === "Q")?.volts).toBe(9.6);
    expect(run.rails.find(({ rail }) => rail === "heater")).toMatchObject({
      on: true,
      fall: "kept on",
    });
  });

  it("tell a run by hand from a proof, and since when its heaters were on", () => {
    const run = foldedFrom("version-2-hand");
    expect(run.mode).toBe("hand");
    expect(run.lines["SET"]).toBe("low");
    expect(run.account.heatersOnMs).toBeLessThan(-300_000);
  });

  it("hold every kind of event that version 1 did not know", () => {
    const kinds = new Set([...frozenEvents, ...handEvents].map(({ kind }) => kind));
    const first = new Set(healthyEvents.map(({ kind }) => kind));
    expect([...kinds].filter((kind) => !first.has(kind)).sort()).toEqual([
      "freeze-loop",
      "freeze-turn",
      "frozen",
      "hand-begun",
      "hand-reading",
      "remark",
      "standby-begun",
      "standby-ended",
      "thawed",
    ]);
  });
});
