import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type HoldTiming, nextDue } from "../../src/run/hold-schedule.ts";

/** Everything a hold does, as `move 500`. */
function unroll(timing: HoldTiming): string[] {
  const done: string[] = [];
  const count = { readings: 0, moves: 0 };
  while (done.length < 10_000) {
    const due = nextDue(timing, count);
    done.push(`${due.kind} ${due.atMs}`);
    if (due.kind === "end") return done;
    if (due.kind === "read") count.readings += 1;
    else count.moves += 1;
  }
  throw new Error("Expected the hold to end.");
}

describe("nextDue(timing, count)", () => {
  it("reads at once, between and at the very end, and moves before it reads", () => {
    const timing = { forMs: 1000, readEveryMs: 250, moveEveryMs: 500, moveCount: 1 };
    expect(unroll(timing)).toEqual([
      "read 0",
      "read 250",
      "move 500",
      "read 500",
      "read 750",
      "read 1000",
      "end 1000",
    ]);
  });

  it("reads at the end of a length that is no multiple of the interval", () => {
    const timing = { forMs: 600, readEveryMs: 250, moveEveryMs: 500, moveCount: 0 };
    expect(unroll(timing)).toEqual(["read 0", "read 250", "read 500", "read 600", "end 600"]);
  });

  it("never goes back in time, never reads twice at one moment, and reads last at the end", () => {
    const timings = fc.record({
      forMs: fc.integer({ min: 1, max: 5000 }),
      readEveryMs: fc.integer({ min: 10, max: 900 }),
      moveEveryMs: fc.integer({ min: 10, max: 900 }),
      moveCount: fc.integer({ min: 0, max: 3 }),
    });
    fc.assert(
      fc.property(timings, (timing) => {
        const times = unroll(timing).map((one) => Number(one.split(" ")[1]));
        const readings = unroll(timing).filter((one) => one.startsWith("read"));
        expect(times).toEqual([...times].sort((one, other) => one - other));
        expect(new Set(readings).size).toBe(readings.length);
        expect(readings.at(-1)).toBe(`read ${timing.forMs}`);
      }),
    );
  });
});
