import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { createRealClock } from "../../src/clock/real-clock.ts";

describe("real clock", () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  it("runs ten times as fast at scale 10, in readings and in delays", async () => {
    const clock = createRealClock({ scale: 10 });
    const startMs = clock.nowMs();
    let fired = false;
    clock.setTimeout(() => {
      fired = true;
    }, 1000);
    await vi.advanceTimersByTimeAsync(99);
    expect(fired).toBe(false);
    await vi.advanceTimersByTimeAsync(1);
    expect(fired).toBe(true);
    expect(clock.nowMs() - startMs).toBeCloseTo(1000, 6);
  });

  it("waits out a delay of thirty days, which the platform alone would fire at once", async () => {
    const clock = createRealClock();
    const thirtyDaysMs = 30 * 24 * 3600 * 1000;
    let fired = false;
    clock.setTimeout(() => {
      fired = true;
    }, thirtyDaysMs);
    await vi.advanceTimersByTimeAsync(thirtyDaysMs - 1);
    expect(fired).toBe(false);
    await vi.advanceTimersByTimeAsync(1);
    expect(fired).toBe(true);
  });

  it("refuses a monotonic source that runs backwards", () => {
    const readings = [5, 7, 6.5];
    const clock = createRealClock({ monotonicMs: () => readings.shift() ?? 0 });
    clock.nowMs();
    clock.nowMs();
    expect(() => clock.nowMs()).toThrow(/at or after 7 ms, got 6.5 ms/);
  });

  it.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])("refuses scale %s", (scale) => {
    expect(() => createRealClock({ scale })).toThrow(
      expect.objectContaining({ code: "CLOCK_BAD_SCALE" }),
    );
  });

  it("rejects a delay with the reason of its signal and leaves no timer behind", async () => {
    const clock = createRealClock();
    const abort = new AbortController();
    const waiting = clock.delay(1000, abort.signal);
    abort.abort(new Error("stop key"));
    await expect(waiting).rejects.toThrow("stop key");
    expect(vi.getTimerCount()).toBe(0);
    await expect(clock.delay(1, abort.signal)).rejects.toThrow("stop key");
  });

  it("does not fire a cleared timer", async () => {
    const clock = createRealClock();
    let fired = false;
    clock.clearTimeout(
      clock.setTimeout(() => {
        fired = true;
      }, 10),
    );
    await vi.advanceTimersByTimeAsync(20);
    expect(fired).toBe(false);
  });

  it("tells wall time as the clocks here do, with its offset", () => {
    vi.setSystemTime(new Date("2026-03-04T05:06:07.089Z"));
    const wall = createRealClock().wallTime();
    expect(Date.parse(wall)).toBe(Date.parse("2026-03-04T05:06:07.089Z"));
    const here = new Date();
    expect(wall.slice(0, 23)).toBe(
      `2026-03-0${here.getDate()}T${String(here.getHours()).padStart(2, "0")}:${String(here.getMinutes()).padStart(2, "0")}:07.089`,
    );
  });
});
