/** How long a journal may say nothing, held to the longest rest that the writer itself leaves between two lines. */
import { describe, expect, it } from "vitest";
import type { Phase, RunEvent } from "../../src/events/events.ts";
import { SilenceLimit } from "../../src/journal/silence-limit.ts";
import { soakTurnMs, soakWatchEveryMs, watchEveryMs } from "../../src/run/timing.ts";

function limitAfter(...events: readonly RunEvent[]): number {
  const limit = new SilenceLimit();
  for (const [n, event] of events.entries()) limit.take({ n, ms: 0, before: "", event });
  return limit.ms;
}

const phase = (named: Phase): RunEvent => ({ kind: "phase", phase: named });
const ended = (cause: "power cycle" | "link lost"): RunEvent => ({
  kind: "leg-ended",
  leg: 1,
  cause,
  detail: "",
  provedOff: cause === "power cycle",
});
const opened = (offMs: number) =>
  ({ kind: "run-opened", soak: { power: { onMs: 60_000, offMs } } }) as unknown as RunEvent;

describe("the limit of silence", () => {
  it("is some looks at the rails with power on", () => {
    expect(limitAfter(phase("stepping"))).toBe(10 * watchEveryMs);
  });

  it("is beyond the tallies and looks of a soak, cycling or standing still, and not by much", () => {
    for (const name of ["soaking", "dwelling", "heaters low"] as const) {
      const limitMs = limitAfter(phase(name));
      expect(limitMs).toBeGreaterThan(Math.max(soakTurnMs, soakWatchEveryMs));
      expect(limitMs).toBeLessThan(2 * soakWatchEveryMs);
    }
  });

  it("is beyond the planned time off between two legs", () => {
    const limitMs = limitAfter(opened(1_800_000), ended("power cycle"), phase("power off"));
    expect(limitMs).toBeGreaterThan(1_800_000);
    expect(limitMs).toBeLessThan(1_815_000);
  });

  it("is beyond the ten minutes in which a lost controller is looked for", () => {
    expect(limitAfter(opened(5000), ended("link lost"), phase("power off"))).toBeGreaterThan(
      600_000,
    );
  });

  it("is short again once the next leg begins", () => {
    const events = [opened(5000), ended("link lost"), phase("power off")];
    const begun: RunEvent = {
      kind: "leg-begun",
      leg: 2,
      why: "link lost",
      wall: "2026-11-27T22:00:00.000+00:00",
      gapMs: 1,
      tornBytes: 0,
    };
    expect(limitAfter(...events, begun)).toBe(10_000);
  });
});
