/** Currents of rails with a shunt: what volts alone would never show. */
import { describe, expect, it } from "vitest";
import type { Plan, PlannedChannel } from "../../src/events/plan.ts";
import { latchPlan } from "./latch-plan.ts";
import { eventsOf, type Rehearsal, rehearse, untilEnd } from "./rehearse.ts";

const divider = { topOhm: 10_000, bottomOhm: 100_000, pullUpOhm: 100_000 };

/** The latch with shunts of 0.22 ohm at the heaters and 15 ohm at plate. */
function shuntedPlan(): Plan {
  const plan = latchPlan();
  const shunt = (rail: "heater" | "plate", number: number, ohm: number): PlannedChannel => ({
    name: `${rail}.current`,
    number,
    reads: { kind: "shunt", rail, ohm },
    divider,
    referenceV: 5,
  });
  const current = {
    heater: { channel: "heater.current", ohm: 0.22, lowA: 0.38, highA: 0.54 },
    plate: { channel: "plate.current", ohm: 15, lowA: 0.004, highA: 0.016 },
  };
  return {
    ...plan,
    rails: plan.rails.map((rail) =>
      rail.rail === "bias" ? rail : { ...rail, current: current[rail.rail] },
    ),
    channels: [...plan.channels, shunt("heater", 15, 0.22), shunt("plate", 16, 15)],
  };
}

function begin(act: (rehearsal: Omit<Rehearsal, "run">) => void = () => undefined): Rehearsal {
  return rehearse({ plan: shuntedPlan(), prepare: act });
}

describe("a rail with a shunt", () => {
  it("that draws what its file says is no reason to end", async () => {
    expect((await untilEnd(begin())).verdict).toBe("pass");
  });

  it("is refused before plate where the heaters draw nothing, whatever their volts", async () => {
    const rehearsal = begin(({ bench }) => bench.mishaps.currentA.set("heater", 0.01));
    const end = await untilEnd(rehearsal);
    expect(end.cause).toBe("supply refused");
    expect(end.detail).toContain("open heater string");
    expect(end.verdict).toBe("void");
    const raised = eventsOf(rehearsal, "rail-switched").filter(({ on }) => on);
    expect(raised.map(({ rail }) => rail)).toEqual(["heater"]);
  });

  it("ends the run within a second when a heater string opens in mid-run", async () => {
    const rehearsal = begin(({ bench }) =>
      bench.at(2500, () => bench.mishaps.currentA.set("heater", 0.3)),
    );
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "trip", allProvedOff: true });
    expect(end.detail).toMatch(/heater draws (29|30)\d mA/);
    const down = rehearsal.journal.entries.find(
      ({ event }) => event.kind === "phase" && event.phase === "powering down",
    );
    expect(down?.ms).toBeLessThan(2500 + 1200);
  });

  it("shows a fault that a stiff supply feeds without a volt of sag", async () => {
    const rehearsal = begin(({ bench }) =>
      bench.at(2500, () => bench.mishaps.currentA.set("plate", 0.03)),
    );
    const end = await untilEnd(rehearsal);
    expect(end.cause).toBe("trip");
    expect(end.detail).toContain("A stiff supply holds its volts into a fault");
    expect(rehearsal.run.snapshot().firstMiss?.net).toBe("plate.current");
    expect(rehearsal.bench.violations).toEqual([]);
  });

  it("passes over the rush of cold heaters, and over one disturbed look", async () => {
    const rehearsal = begin(({ bench }) => {
      bench.mishaps.currentA.set("heater", 2);
      bench.at(1500, () => bench.mishaps.currentA.delete("heater"));
      bench.at(2500, () => bench.mishaps.currentA.set("plate", 0.03));
      bench.at(2800, () => bench.mishaps.currentA.delete("plate"));
    });
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
  });

  it("takes more than the shunt can tell for rush until plate's turn, and for a fault from then on", async () => {
    // 0.22 ohm reach to -0.5 V, 2.3 A; 3 A are beyond.
    const rushing = begin(({ bench }) => {
      bench.mishaps.currentA.set("heater", 3);
      bench.at(600, () => bench.mishaps.currentA.delete("heater"));
    });
    expect((await untilEnd(rushing)).verdict).toBe("pass");

    const shorted = begin(({ bench }) => bench.mishaps.currentA.set("heater", 3));
    const end = await untilEnd(shorted);
    expect(end).toMatchObject({ cause: "trip", verdict: "void", allProvedOff: true });
    expect(end.detail).toContain("heater draws more than its shunt can tell");
    expect(eventsOf(shorted, "step-begun")).toEqual([]);
  });

  it("takes an open lead for no reading, and no reading for no ground to go on", async () => {
    const rehearsal = begin(({ bench }) =>
      bench.at(2500, () => bench.mishaps.openLeads.add("plate.current")),
    );
    const end = await untilEnd(rehearsal);
    expect(end.cause).toBe("trip");
    expect(end.verdict).toBe("void");
  });

  it("shows amperes beside the rail's volts", async () => {
    const rehearsal = begin();
    await rehearsal.clock.advance(2500);
    const rails = rehearsal.run.snapshot().rails;
    expect(rails.find(({ rail }) => rail === "heater")?.currentA).toBeCloseTo(0.46, 1);
    expect(rails.find(({ rail }) => rail === "plate")?.currentA).toBeCloseTo(0.01, 2);
    expect(rails.find(({ rail }) => rail === "bias")).not.toHaveProperty("currentA");
  });
});
