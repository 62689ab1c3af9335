import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import { foldEvent, foldJournal, initialSnapshot, LOG_LINES_MAX } from "../../src/journal/fold.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import { parseJournal } from "../../src/journal/read-journal.ts";
import { fold } from "./fold-variants.ts";
import { healthyEvents, healthyUpTo, opened } from "./latch-run.ts";
import { memoryFile } from "./memory-file.ts";
import { steppingClock, writeRun } from "./write-run.ts";

describe("a healthy run", () => {
  const run = fold(healthyEvents);

  it("passes, with nothing missed and every step passed", () => {
    expect(run.verdict).toBe("pass");
    expect(run.firstMiss).toBeNull();
    expect(run.steps.map(({ state }) => state)).toEqual(["pass", "pass"]);
    expect(run.cause).toBe("completed");
    expect(run.account.doubts).toEqual([]);
  });

  it("has its rails, channels and warm-up times in the picture", () => {
    const half = fold(healthyUpTo((event) => event.kind === "warm-up-ended"));
    expect(half.rails.find(({ rail }) => rail === "plate")).toEqual({
      rail: "plate",
      on: true,
      sourceV: 48,
      boardV: 47.9,
      inWindow: true,
      fall: null,
      fallV: null,
    });
    expect(half.channels.find(({ channel }) => channel === "Q")).toMatchObject({
      volts: 44.9,
      class: "high",
    });
    expect(half.warm).toEqual([
      { net: "QN", validMs: 11_200, steadyMs: 14_300 },
      { net: "Q", validMs: 11_400, steadyMs: 14_400 },
    ]);
    expect(half.warmUpMs).toBe(14_400);
    expect(half.verdict).toBeNull();
  });

  it("shows what a hold is doing, and drops it when the step ends", () => {
    const holding = fold(
      healthyUpTo((event) => event.kind === "hold-progress" && event.part === "hold"),
    );
    expect(holding.hold).toEqual({
      step: 1,
      part: "hold",
      elapsedMs: 120_000,
      forMs: 120_000,
      readingSets: 480,
      moves: 240,
    });
    expect(run.hold).toBeNull();
  });

  it("shows what each net must be in the step that runs", () => {
    const begun = fold(healthyUpTo((event) => event.kind === "step-begun" && event.step === 1));
    expect(begun.channels.find(({ channel }) => channel === "Q")).toMatchObject({
      expected: "high",
      result: null,
    });
    expect(begun.steps.map(({ state }) => state)).toEqual(["pass", "running"]);
  });

  it("tells its story in the log with volts", () => {
    const log = run.log.map(({ text }) => text);
    expect(log).toContain("plate at its source 48.00 V, inside 45.6 to 50.4 V");
    expect(log).toContain("Q pulled low to 9.40 V, valid by 11.4 s, steady at 14.4 s");
    expect(log).toContain("Q read 9.40 V, low; QN read 44.80 V, high");
    expect(log).toContain("plate off, its fall read, 0.40 V after 0.9 s");
    expect(log.at(-1)).toBe("pass: completed");
  });

  it("counts time left downward, to nothing at the end", () => {
    const lefts: number[] = [];
    writeRun(healthyEvents).entries.reduce((before, entry) => {
      const after = foldEvent(before, entry);
      if (after.leftMs !== null) lefts.push(after.leftMs);
      return after;
    }, initialSnapshot());
    expect(lefts.at(0)).toBeGreaterThan(120_000);
    expect(lefts.at(-1)).toBe(0);
    for (const [index, left] of lefts.entries()) {
      expect(left).toBeLessThanOrEqual(lefts[index - 1] ?? Number.POSITIVE_INFINITY);
    }
  });
});

describe("the fold", () => {
  it("of a replay equals the live fold at every seal", () => {
    const file = memoryFile();
    const journal = openJournal({
      path: "run.ndjson",
      clock: steppingClock(),
      startMs: 0,
      createFile: file.create,
    });
    let live = initialSnapshot();
    journal.subscribe((entry) => {
      live = foldEvent(live, entry);
    });
    for (const event of healthyEvents) {
      journal.append(event);
      journal.seal();
      expect(foldJournal(parseJournal(file.bytes()).entries)).toEqual(live);
    }
    expect(live.verdict).toBe("pass");
  });

  it("never throws on any part of a run in any order", () => {
    fc.assert(
      fc.property(fc.shuffledSubarray([...healthyEvents]), (events) => {
        expect(fold(events).sealedEvents).toBe(events.length);
      }),
      { numRuns: 150 },
    );
  });

  it("does not pass without any one of the events that a pass rests on", () => {
    const needed = healthyEvents.filter(isNeededToPass);
    expect(needed.length).toBeGreaterThan(16);
    for (const one of needed) {
      const run = fold(healthyEvents.filter((event) => event !== one));
      expect(run.verdict, JSON.stringify(one)).not.toBe("pass");
    }
  });

  it("changes nothing of the snapshot it was given", () => {
    const { entries } = writeRun(healthyEvents);
    let run = deepFrozen(initialSnapshot());
    for (const entry of entries) run = deepFrozen(foldEvent(run, entry));
    expect(run.verdict).toBe("pass");
  });

  it("shares what an event does not touch", () => {
    const before = fold(healthyUpTo((event) => event.kind === "warm-up-ended"));
    const entry: JournalEntry = {
      n: before.sealedEvents,
      ms: before.ms,
      before: "",
      event: { kind: "remark", text: "rain on the deck above" },
    };
    const after = foldEvent(before, entry);
    expect(after.rails).toBe(before.rails);
    expect(after.channels).toBe(before.channels);
    expect(after.steps).toBe(before.steps);
    expect(after.plan).toBe(before.plan);
  });

  it("keeps the log bounded through a night", () => {
    const { entries } = writeRun([opened]);
    let run = foldJournal(entries);
    for (let n = 1; n < 2000; n += 1) {
      run = foldEvent(run, { n, ms: n, before: "", event: { kind: "remark", text: `bell ${n}` } });
    }
    expect(run.log).toHaveLength(LOG_LINES_MAX);
    expect(run.log.at(-1)?.text).toBe("bell 1999");
    expect(run.sealedEvents).toBe(2000);
  });
});

/** Gates, warm-up, readings, whole holds, ends of steps and falls: each is looked for by name. */
function isNeededToPass(event: RunEvent): boolean {
  if (event.kind === "hold-progress") {
    return event.elapsedMs === event.forMs;
  }
  // Hold and flip readings are also in the progress of the hold, which says more.
  return event.kind === "reading"
    ? event.part === "pattern" || event.part === "inactive"
    : ["gate", "warm-up-ended", "step-ended", "rail-fall", "run-closed"].includes(event.kind);
}

function deepFrozen<T>(value: T): T {
  if (typeof value === "object" && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    Object.values(value).forEach(deepFrozen);
  }
  return value;
}
