import { describe, expect, it } from "vitest";
import { WarmTracker } from "../../src/run/warm-tracker.ts";

const plan = {
  steadyBandV: 0.3,
  steadyForMs: 1000,
  exercise: [
    { set: {}, settleMs: 0, pullsLow: ["QN"] },
    { set: {}, settleMs: 0, pullsLow: ["Q"] },
  ],
};

const low = (net: string, atMs: number, volts: number) =>
  ({ net, atMs, volts, class: "low" }) as const;

describe("WarmTracker", () => {
  it("takes a cold net that reads high for nothing", () => {
    const tracker = new WarmTracker(plan);
    for (let atMs = 0; atMs <= 5000; atMs += 200) {
      expect(tracker.take({ net: "Q", atMs, volts: 43, class: "high" })).toBeNull();
    }
    expect(tracker.isWarm()).toBe(false);
    expect(tracker.cold()[0]).toMatchObject({ net: "QN", volts: null, validMs: null });
  });

  it("calls a net valid at its first low and steady once its lows stood still long enough", () => {
    const tracker = new WarmTracker(plan);
    const news = [0, 400, 800, 1000, 1200].map((atMs) => tracker.take(low("Q", atMs, 9)));
    expect(news).toEqual(["valid", null, null, "steady", null]);
    expect(tracker.nets().find(({ net }) => net === "Q")).toMatchObject({
      validMs: 0,
      steadyMs: 1000,
    });
  });

  it("waits while the lows drift and counts the band over the whole stretch", () => {
    const tracker = new WarmTracker(plan);
    // 0.1 V a 200 ms is 0.5 V a second: more than the band.
    const news = Array.from({ length: 10 }, (_, index) =>
      tracker.take(low("Q", index * 200, 12 - index * 0.1)),
    );
    expect(news.slice(1)).toEqual(Array(9).fill(null));
    const still = Array.from({ length: 6 }, (_, index) =>
      tracker.take(low("Q", 2000 + index * 200, 11.1)),
    );
    expect(still).toContain("steady");
  });

  it("forgets steadiness when a low goes away or moves again", () => {
    const tracker = new WarmTracker(plan);
    for (let atMs = 0; atMs <= 1200; atMs += 200) tracker.take(low("Q", atMs, 9));
    tracker.take({ net: "Q", atMs: 1400, volts: 25, class: "between" });
    expect(tracker.nets().find(({ net }) => net === "Q")?.steadyMs).toBeNull();
    tracker.take(low("Q", 1600, 9));
    expect(tracker.cold().map(({ net }) => net)).toContain("Q");
  });

  it("says whether the last look was a low", () => {
    const tracker = new WarmTracker(plan);
    const isLow = () => tracker.nets().find(({ net }) => net === "Q")?.isLow;
    expect(isLow()).toBe(false);
    tracker.take(low("Q", 0, 9));
    expect(isLow()).toBe(true);
    tracker.take({ net: "Q", atMs: 200, volts: null, class: null });
    expect(isLow()).toBe(false);
  });

  it("is warm only when every exercised net is steady", () => {
    const tracker = new WarmTracker(plan);
    for (let atMs = 0; atMs <= 1200; atMs += 200) tracker.take(low("Q", atMs, 9));
    expect(tracker.isWarm()).toBe(false);
    for (let atMs = 0; atMs <= 1200; atMs += 200) tracker.take(low("QN", atMs, 9));
    expect(tracker.isWarm()).toBe(true);
  });

  it("names nets that never pulled low before those that only move", () => {
    const tracker = new WarmTracker(plan);
    tracker.take(low("QN", 100, 9));
    tracker.take({ net: "Q", atMs: 100, volts: 44, class: "high" });
    expect(tracker.cold().map(({ net }) => net)).toEqual(["Q", "QN"]);
  });
});
