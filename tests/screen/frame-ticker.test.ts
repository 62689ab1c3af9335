import { describe, expect, it } from "vitest";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import { tickFrames } from "../../src/screen/frame-ticker.ts";
import { examples } from "./example-run.ts";
import { soakExamples } from "./soak-examples.ts";

function bench({
  example = "holding",
  breathMs = null,
}: {
  example?: string;
  breathMs?: number | null;
} = {}) {
  const clock = createVirtualClock();
  const listeners = new Set<() => void>();
  const drawn: number[] = [];
  let ms = 0;
  let ready = true;
  const base = { ...examples, ...soakExamples }[example] as RunSnapshot;
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
      breathMs,
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

  it("lets the time of a soak go on while it says nothing, and starts from what it says next", async () => {
    const { clock, drawn, change, stop } = bench({ example: "soak-right", breathMs: 1000 });
    change(60_000);
    await clock.advance(3300);
    expect(drawn).toEqual([60_000, 61_000, 62_000, 63_000]);
    drawn.length = 0;
    change(80_000);
    await clock.advance(2000);
    expect(drawn[0]).toBe(80_000);
    expect(drawn.at(-1)).toBeGreaterThanOrEqual(81_000);
    expect(drawn.at(-1)).toBeLessThanOrEqual(82_000);
    stop();
    expect(clock.pendingTimers).toBe(0);
  });

  it.each(["holding", "soak-ended"])("lets no time go on in %s", async (example) => {
    const { clock, drawn, change } = bench({ example, breathMs: 1000 });
    change(60_000);
    await clock.advance(5000);
    expect(drawn).toEqual([60_000]);
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
