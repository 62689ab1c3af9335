/** What a link counts of its use: which exchanges moved relays, and what was under way when it broke. */
import { describe, expect, it } from "vitest";
import { movesRelays } from "../../src/bench/relay-action.ts";
import { connectedRig, errorOf, resultOf } from "./bench-rig.ts";

describe("commands that move relays", () => {
  // As firmware-protocol/PROTOCOL.md, section 4, spells them.
  it.each([
    "ROUT:CLOS (@3)",
    "ROUT:OPEN (@3)",
    "ROUT:SET 24,8",
    "ROUT:PULS 1000,8,8",
    "ROUT:STAG 500,24,8,16",
    "MEAS:STEP? 8,8,60000,(@9,10)",
    "BLOC:RUN 100",
  ])("are such as %s", (body) => {
    expect(movesRelays(body)).toBe(true);
  });

  it.each([
    "ROUT:CLOS? (@3)",
    "MEAS:STEP? 0,0,60000,(@9,10)",
    "MEAS:CODE? 16,(@7,8)",
    "MEAS:RAIL?",
    "SYST:FEED 24",
    "BLOC:STEP 8,8,60000",
  ])("are not such as %s", (body) => {
    expect(movesRelays(body)).toBe(false);
  });
});

describe("the use of a link", () => {
  it("counts what went over it both ways, and what belonged to moving relays apart", async () => {
    const { clock, bench, mishaps } = await connectedRig();
    const before = { ...bench.linkUse?.() };
    mishaps.push({ kind: "reply lost" });
    await resultOf(clock, bench.switchRail("plate", false));
    await resultOf(clock, bench.read(["Q"], 1));
    mishaps.push({ kind: "reply lost" });
    await resultOf(clock, bench.read(["Q"], 1));
    const use = bench.linkUse?.();
    // PROTOCOL.md, section 2: >TT|BODY|CCCC and <TT|ANSWER|CCCC, each with a line feed.
    const line = (body: string): number => body.length + 10;
    const off = 2 * line("ROUT:OPEN (@3)") + line("OK");
    expect(use?.movingBytes).toBe((before.movingBytes ?? 0) + off);
    const read = (use?.bytes ?? 0) - (before.bytes ?? 0) - off;
    expect(read).toBeGreaterThan(3 * line("MEAS:CODE? 1,(@7)"));
    expect(read).toBeLessThan(5 * line("MEAS:CODE? 1,(@7)"));
    expect(use?.movingRepeats).toBe((before.movingRepeats ?? 0) + 1);
    expect(bench.repeats?.()).toBe(2);
    // The reply that was lost was waited for; the other came within some milliseconds.
    expect(use?.movingMs).toBeGreaterThan(200);
    expect(use?.movingMs).toBeLessThan(300);
  });

  it.each([
    ["relays moved", true],
    ["nothing moved", false],
  ])("knows of a controller that began anew whether %s", async (_, isMoving) => {
    const { clock, bench, mishaps } = await connectedRig();
    mishaps.push({ kind: "restart", greets: true });
    const asked = isMoving ? bench.switchRail("plate", false) : bench.read(["Q"], 1);
    await errorOf(clock, asked);
    expect(bench.linkUse?.().brokeOffMoving).toBe(isMoving);
  });

  it("knows nothing of the kind where nothing was under way", async () => {
    const { clock, bench, port } = await connectedRig();
    await resultOf(clock, bench.switchRail("plate", false));
    port.restart({ cause: "BOR", greets: true });
    await clock.advance(50);
    expect(bench.linkUse?.().brokeOffMoving).toBeNull();
  });
});
