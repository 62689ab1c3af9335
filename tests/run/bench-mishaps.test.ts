/** Rails, leads and the link misbehaving on the scripted bench: what the run says and leaves. */
import { describe, expect, it } from "vitest";
import { eventsOf, type Rehearsal, rehearse, untilEnd } from "./rehearse.ts";

const falls = (rehearsal: Rehearsal) =>
  Object.fromEntries(eventsOf(rehearsal, "rail-fall").map(({ rail, proof }) => [rail, proof]));

const switched = (rehearsal: Rehearsal) =>
  rehearsal.bench.requests.filter((request) => /^switchRail .* on$/.test(request));

/** A moment in the middle of the hold of the rehearsed latch. */
const HOLDING_MS = 3000;

describe("supplies", () => {
  it.each([
    ["heater", 15.5, /heater\.source reads 15\.\d\d V, expected 11\.9\.\.13\.2 V/],
    ["bias", -12, /bias\.source reads -1[12]\.\d\d V, expected -26\.4\.\.-21\.6 V/],
    ["plate", 58, /plate\.source reads 5[78]\.\d\d V, expected 45\.6\.\.50\.4 V/],
    ["plate", 0, /plate\.source reads no reading \(lead not proved\), the converter saw 0\.00 V/],
  ] as const)("with %s at %s V nothing is switched", async (rail, volts, detail) => {
    const rehearsal = rehearse({ prepare: ({ bench }) => bench.setSupply(rail, volts) });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "supply refused", allProvedOff: true });
    expect(end.detail).toMatch(detail);
    expect(switched(rehearsal)).toEqual([]);
    const { firstMiss } = rehearsal.run.snapshot();
    expect(firstMiss?.net).toBe(`${rail}.source`);
    expect(firstMiss?.text).toMatch(/-?\d+\.\d+ V, expected .* V\. Set the supply/);
    if (volts === 0) expect(firstMiss?.volts).toBeNull();
    else expect(firstMiss?.volts).toBeCloseTo(volts, 0);
  });

  it("are refused while a board side is live before its relay is switched", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.mishaps.openLeads.add("bias.board"),
    });
    const end = await untilEnd(rehearsal);
    expect(end.cause).toBe("supply refused");
    expect(end.detail).toMatch(/bias\.board reads 2\.\d\d V before its relay is switched/);
    expect(rehearsal.run.snapshot().firstMiss).toMatchObject({
      net: "bias.board",
      text: end.detail,
    });
    expect(switched(rehearsal)).toEqual([]);
  });

  it("keep plate off when bias leaves its window while the heaters warm", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.at(600, () => bench.setSupply("bias", -12)),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "trip" });
    expect(end.detail).toMatch(/bias\.(source|board) reads -1\d\.\d\d V/);
    expect(switched(rehearsal)).toEqual(["switchRail heater on", "switchRail bias on"]);
    expect(rehearsal.bench.violations).toEqual([]);
  });

  it("end the run at once when plate climbs beyond its ceiling", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.at(HOLDING_MS, () => bench.setSupply("plate", 58)),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "trip" });
    expect(eventsOf(rehearsal, "controller-event")[0]).toMatchObject({
      event: "tripped",
      channel: expect.stringMatching(/^plate\./),
    });
  });

  it("end the run when plate sags below its window, which no trip limit covers", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.at(HOLDING_MS, () => bench.setSupply("plate", 44)),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "trip" });
    expect(end.detail).toMatch(/plate\.\w+ reads 4\d\.\d\d V, outside 45\.6\.\.50\.4 V/);
  });

  it("end the run when a rail does not come up, with what it read", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.mishaps.openLeads.add("heater.board"),
    });
    const end = await untilEnd(rehearsal);
    expect(end.cause).toBe("supply refused");
    expect(end.detail).toMatch(
      /heater\.board reads no reading .* expected 11\.9\.\.13\.2 V within 500 ms/,
    );
    expect(falls(rehearsal)).toMatchObject({ heater: "unproved", bias: "never raised" });
    expect(end.allProvedOff).toBe(false);
  });
});

describe("leads and relays", () => {
  it("never proves a fall on a lead that came off before", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) =>
        bench.at(HOLDING_MS, () => bench.mishaps.openLeads.add("plate.board")),
    });
    const end = await untilEnd(rehearsal);
    expect(["unproved", "lead lost"]).toContain(falls(rehearsal)["plate"]);
    expect(end).toMatchObject({ verdict: "void", allProvedOff: false });
  });

  it("says lead lost when the lead comes off on the way down", async () => {
    const rehearsal = rehearse({
      board: { fallMs: { heater: 40, bias: 600, plate: 200 } },
      prepare: ({ bench }) => {
        const look = (): void => {
          const isFalling = !bench.isOn("plate") && bench.trueV("plate") < 40;
          if (isFalling && bench.trueV("plate") > 15) bench.mishaps.openLeads.add("plate.board");
          bench.at(rehearsal.clock.nowMs() + 5, look);
        };
        bench.at(HOLDING_MS, look);
      },
    });
    const end = await untilEnd(rehearsal);
    expect(falls(rehearsal)).toMatchObject({ plate: "lead lost", bias: "verified" });
    expect(end).toMatchObject({ verdict: "void", allProvedOff: false });
  });

  it("calls a rail whose relay is welded unproved and keeps bias as long as it may fall", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.at(HOLDING_MS, () => bench.mishaps.weldedRails.add("plate")),
    });
    const end = await untilEnd(rehearsal);
    const fall = eventsOf(rehearsal, "rail-fall").find(({ rail }) => rail === "plate");
    expect(fall?.proof).toBe("unproved");
    expect(fall?.volts).toBeGreaterThan(45);
    expect(end.allProvedOff).toBe(false);
    const [plateOff, biasOff] = ["plate", "bias"].map((name) =>
      rehearsal.journal.entries.find(
        ({ event }) => event.kind === "rail-switched" && event.rail === name && !event.on,
      ),
    );
    expect((biasOff?.ms ?? 0) - (plateOff?.ms ?? 0)).toBeGreaterThanOrEqual(1500);
  });

  it("takes zero on a line never seen high for no reading and names the line", async () => {
    const rehearsal = rehearse({ prepare: ({ bench }) => bench.mishaps.openLeads.add("RESET") });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "line off its level" });
    expect(end.detail).toMatch(
      /line RESET reads no reading \(lead not proved\), the converter saw 0\.00 V, expected high/,
    );
  });

  it("voids a step whose line is off its level and does not fail the board for it", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) =>
        bench.at(HOLDING_MS, () => bench.mishaps.stuckLines.set("SET", "high")),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "line off its level" });
    expect(eventsOf(rehearsal, "step-ended").at(-1)).toMatchObject({ step: 2, result: "void" });
  });

  it("finds a set contact that is stuck from the start before any step", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.mishaps.stuckLines.set("SET", "high"),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "line off its level" });
    expect(eventsOf(rehearsal, "step-begun")).toEqual([]);
  });
});

describe("the link and the controller", () => {
  it.each(["scanRails", "feed", "read", "setLines"] as const)(
    "lets no hung %s keep the outputs on",
    async (method) => {
      const rehearsal = rehearse({
        prepare: ({ bench }) => bench.at(HOLDING_MS, () => bench.mishaps.hung.add(method)),
      });
      const end = await untilEnd(rehearsal);
      expect(end.verdict).not.toBe("pass");
      for (const { rail } of rehearsal.plan.rails) expect(rehearsal.bench.isOn(rail)).toBe(false);
      expect(rehearsal.bench.violations).toEqual([]);
    },
  );

  it("takes a scan that stands still for no look", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) =>
        bench.at(HOLDING_MS, () => {
          bench.mishaps.scanFrozen = true;
        }),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "link lost", allProvedOff: false });
    expect(end.detail).toMatch(/scan stands still/);
  });

  it("calls every raised rail unproved when the link is gone, and leaves the rest to the controller", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.at(HOLDING_MS, () => bench.loseLink()),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "link lost", allProvedOff: false });
    expect(falls(rehearsal)).toEqual({ plate: "unproved", bias: "unproved", heater: "unproved" });
    await rehearsal.clock.advance(1000);
    for (const { rail } of rehearsal.plan.rails) expect(rehearsal.bench.isOn(rail)).toBe(false);
    expect(rehearsal.bench.violations).toEqual([]);
  });

  it("writes down what a trip read, in volts", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) => bench.at(HOLDING_MS, () => bench.trip("plate.board", 800)),
    });
    await untilEnd(rehearsal);
    // Code 800 behind 100 k over 8.2 k at 5 V: 800 / 1024 * 5 * 108.2 / 8.2 = 51.54 V.
    expect(eventsOf(rehearsal, "controller-event")[0]?.volts).toBeCloseTo(51.54, 1);
  });
});
