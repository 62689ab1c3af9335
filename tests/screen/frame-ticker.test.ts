import { describe, expect, it } from "vitest";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import { tickFrames } from "../../src/screen/frame-ticker.ts";
import { examples } from "./example-run.ts";

function bench() {
  const clock = createVirtualClock();
  const listeners = new Set<() => void>();
  const drawn: number[] = [];
  let ms = 0;
  let ready = true;
  const base = examples["holding"] as RunSnapshot;
  const stop = tickFrames(
    {
      feed: {
        snapshot: () => ({ ...base, ms }),
        subscribe(listener) {
          listeners.add(listener);
          return () => listeners.delete(listener);
        },
      },
      clock,
      frameMs: 200,
      readyToDraw: () => ready,
    },
    (snapshot) => drawn.push(snapshot.ms),
  );
  return {
    clock,
    drawn,
    listeners,
    stop,
    setReady: (value: boolean) => {
      ready = value;
    },
    change: (toMs: number) => {
      ms = toMs;
      for (const listener of listeners) listener();
    },
  };
}

describe("tickFrames(options, draw)", () => {
  it("draws at most once a frame however much changes", async () => {
    const { clock, drawn, change } = bench();
    for (let turn = 1; turn <= 1000; turn += 1) {
      change(turn);
      await clock.advance(1);
    }
    expect(drawn.length).toBeGreaterThanOrEqual(4);
    expect(drawn.length).toBeLessThanOrEqual(6);
  });

  it("draws the last change even when nothing follows it", async () => {
    const { clock, drawn, change } = bench();
    change(1);
    await clock.advance(50);
    change(2);
    await clock.advance(1000);
    expect(drawn.at(-1)).toBe(2);
  });

  it("leaves frames out while the terminal has not taken the one before", async () => {
    const { clock, drawn, change, setReady } = bench();
    setReady(false);
    change(1);
    await clock.advance(2000);
    expect(drawn).toEqual([]);
    setReady(true);
    await clock.advance(400);
    expect(drawn).toEqual([1]);
  });

  it("holds no timer while nothing changes, and none after it is stopped", async () => {
    const { clock, change, listeners, stop } = bench();
    expect(clock.pendingTimers).toBe(0);
    change(1);
    await clock.advance(1000);
    expect(clock.pendingTimers).toBe(0);
    change(2);
    stop();
    expect(clock.pendingTimers).toBe(0);
    expect(listeners.size).toBe(0);
  });
});
