import { describe, expect, it } from "vitest";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";

describe("virtual clock", () => {
  it("stands still until it is advanced", async () => {
    const clock = createVirtualClock();
    let fired = false;
    clock.setTimeout(() => {
      fired = true;
    }, 5);
    await Promise.resolve();
    expect(clock.nowMs()).toBe(0);
    await clock.advance(4.9);
    expect(fired).toBe(false);
    await clock.advance(0.1);
    expect(fired).toBe(true);
  });

  it("fires timers in order of time, and in order of setting where the time is one", async () => {
    const clock = createVirtualClock();
    const order: string[] = [];
    clock.setTimeout(() => order.push("late"), 20);
    clock.setTimeout(() => order.push("early"), 10);
    clock.setTimeout(() => order.push("early, set second"), 10);
    await clock.advance(20);
    expect(order).toEqual(["early", "early, set second", "late"]);
  });

  it("fires a timer that another timer's promise sets inside the same stretch, at its own time", async () => {
    const clock = createVirtualClock();
    const times: number[] = [];
    const chain = async (): Promise<void> => {
      for (let step = 0; step < 3; step += 1) {
        await clock.delay(10);
        times.push(clock.nowMs());
      }
    };
    const done = chain();
    await clock.advance(100);
    await done;
    expect(times).toEqual([10, 20, 30]);
    expect(clock.nowMs()).toBe(100);
  });

  it("tells wall time from its start and what has passed", async () => {
    const clock = createVirtualClock({ wallStart: "2026-01-01T09:00:00.000+00:00" });
    await clock.advance(61_001);
    expect(clock.wallTime()).toBe("2026-01-01T09:01:01.001+00:00");
  });

  it("does not run backwards", async () => {
    await expect(createVirtualClock().advance(-1)).rejects.toThrow(/0 ms or more/);
  });

  it("drops a timer that its signal aborted", async () => {
    const clock = createVirtualClock();
    const abort = new AbortController();
    const waiting = clock.delay(10, abort.signal);
    abort.abort(new Error("trip"));
    await expect(waiting).rejects.toThrow("trip");
    expect(clock.pendingTimers).toBe(0);
  });
});
