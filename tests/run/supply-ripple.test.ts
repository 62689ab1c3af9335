/** A supply that swings over a period of the mains is refused before anything is switched. */
import { describe, expect, it } from "vitest";
import type { Plan } from "../../src/events/plan.ts";
import { nodeVolts } from "../../src/measure/divider.ts";
import { latchPlan } from "./latch-plan.ts";
import { eventsOf, rehearse, untilEnd } from "./rehearse.ts";

const mainsPlan: Plan = { ...latchPlan(), mains: { hz: 50, samples: 20 } };
const heater = mainsPlan.rails.find(({ rail }) => rail === "heater");
const source = mainsPlan.channels.find(({ name }) => name === "heater.source");
if (heater === undefined || source === undefined) throw new Error("The latch has no heater rail.");
const stepV = nodeVolts(1, source.divider, source.referenceV);
const stepsWide = (heater.window.highV - heater.window.lowV) / stepV;

/** The heater supply swings by so many code steps around where it stands. */
function begin(steps: number, plan: Plan = mainsPlan) {
  return rehearse({
    plan,
    prepare: ({ bench }) => {
      const spread = bench.readSpread.bind(bench);
      bench.readSpread = async (channels, samples) =>
        (await spread(channels, samples)).map((raw) =>
          raw.channel === "heater.source"
            ? { ...raw, min: raw.min - Math.floor(steps / 2), max: raw.max + Math.ceil(steps / 2) }
            : raw,
        );
    },
  });
}

describe("a supply over a period of the mains", () => {
  it("is refused when it swings by more than its window is wide, and nothing is switched", async () => {
    const rehearsal = begin(Math.ceil(stepsWide) + 1);
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "supply refused", allProvedOff: true });
    expect(end.detail).toMatch(/^heater\.source swings from 1\d\.\d\d V to 1\d\.\d\d V in 20 ms/);
    expect(end.detail).toContain("feed heater from DC");
    expect(rehearsal.run.snapshot().firstMiss?.net).toBe("heater.source");
    expect(eventsOf(rehearsal, "rail-switched").filter(({ on }) => on)).toEqual([]);
  });

  it("may ripple as far as its window is wide", async () => {
    expect((await untilEnd(begin(Math.floor(stepsWide)))).verdict).toBe("pass");
  });

  it("is not looked at so where the rig does not name its mains", async () => {
    expect((await untilEnd(begin(500, latchPlan()))).verdict).toBe("pass");
  });
});
