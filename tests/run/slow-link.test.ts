/** Falls that are over in two exchanges of a slow link: the controller's trail shows them whole. */
import { describe, expect, it } from "vitest";
import { latchPlan } from "./latch-plan.ts";
import { eventsOf, type Rehearsal, rehearse, untilEnd } from "./rehearse.ts";
import type { LinkScript } from "./scripted-bench.ts";

/** 48 V with this time constant is below 10 V after 50 ln(4.8) = 78 ms, two exchanges of 40 ms. */
const quickPlate = { fallMs: { heater: 40, bias: 600, plate: 50 } };
/** In the middle of the hold of the rehearsed latch over this link. */
const STOP_MS = 4000;

async function stopped(
  link: Partial<LinkScript>,
  prepare: (bench: Rehearsal["bench"]) => void = () => undefined,
): Promise<Rehearsal> {
  const rehearsal = rehearse({
    board: quickPlate,
    link: { exchangeMs: 40, ...link },
    prepare: ({ bench }) => prepare(bench),
  });
  rehearsal.bench.at(STOP_MS, () => rehearsal.run.stop("person", "stop key"));
  await untilEnd(rehearsal);
  return rehearsal;
}

const fallOf = (rehearsal: Rehearsal, name: string) =>
  eventsOf(rehearsal, "rail-fall").find(({ rail }) => rail === name);

const remarks = (rehearsal: Rehearsal) => eventsOf(rehearsal, "remark").map(({ text }) => text);

describe("over exchanges of 40 ms", () => {
  it("a plate that falls in 78 ms is proved off by the controller's trail", async () => {
    const rehearsal = await stopped({});
    for (const { rail } of latchPlan().rails) {
      expect(fallOf(rehearsal, rail)).toMatchObject({ rail, proof: "verified" });
    }
    expect(rehearsal.bench.violations).toEqual([]);
  });

  it("it is unproved by scans alone, and an old firmware's not knowing is no news", async () => {
    const rehearsal = await stopped({ hasTrail: false });
    expect(fallOf(rehearsal, "plate")).toMatchObject({ proof: "unproved" });
    expect(fallOf(rehearsal, "bias")).toMatchObject({ proof: "verified" });
    expect(remarks(rehearsal).join()).not.toMatch(/trail|-113/);
  });

  it("a lead that comes off in mid-fall is lost, not a rail that is off", async () => {
    const rehearsal = await stopped({}, (bench) => {
      const look = (nowMs: number): void => {
        const plateV = bench.trueV("plate");
        if (!bench.isOn("plate") && plateV < 40 && plateV > 15) {
          bench.mishaps.openLeads.add("plate.board");
        }
        bench.at(nowMs + 2, () => look(nowMs + 2));
      };
      bench.at(STOP_MS, () => look(STOP_MS));
    });
    expect(fallOf(rehearsal, "plate")).toMatchObject({ proof: "lead lost" });
  });

  // The counter passes 65535 while the fall is followed: from 40 ms after the stop to 300 ms after.
  it.each([40, 70, 100, 130, 160, 200, 300])(
    "the scan counter may begin anew %s ms after the stop",
    async (afterMs) => {
      const firstScan = 65_536 - Math.floor((STOP_MS + afterMs) / 3);
      const rehearsal = await stopped({ firstScan });
      expect(fallOf(rehearsal, "plate")).toMatchObject({ proof: "verified" });
    },
  );

  it("a controller whose trail hangs is followed by scans", async () => {
    const rehearsal = await stopped({}, (bench) => bench.mishaps.hung.add("railTrail"));
    expect(fallOf(rehearsal, "plate")).toMatchObject({ proof: "unproved" });
    expect(remarks(rehearsal).join()).toMatch(/the trail of a rail failed/);
    for (const { rail } of latchPlan().rails) expect(rehearsal.bench.isOn(rail)).toBe(false);
  });
});
