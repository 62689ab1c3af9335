/** Heaters handed from one run to the next: whatever happens to the next one, it owns them from its first moment. */
import { describe, expect, it } from "vitest";
import { foldJournal } from "../../src/journal/fold.ts";
import { PLAIN_PROOF } from "../../src/run/conduct.ts";
import { type RunOptions, startRun } from "../../src/run/start-run.ts";
import { breakings } from "./break-off.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { eventsOf, type Rehearsal, rehearse, untilEnd } from "./rehearse.ts";

/** A run that has just handed its heaters over, and the next one on the same bench. */
async function handedOver(options: Partial<RunOptions> = {}): Promise<Rehearsal> {
  const first = rehearse({
    options: { conduct: { ...PLAIN_PROOF, standbyMs: 60_000 } },
  });
  const { bench, clock, plan, run } = first;
  while (run.snapshot().phase !== "standby") await clock.advance(10);
  // Longer than a cold board may take to warm: what counts for the next run is its own time.
  await clock.advance(plan.warmUp.timeoutMs * 2);
  expect(run.ask({ kind: "next run" })).toBeNull();
  let heatersOnMs: number | null = null;
  void run.done.then((end) => {
    heatersOnMs = end.heatersKeptOnMs;
  });
  while (heatersOnMs === null) await clock.advance(2);
  const journal = new MemoryJournal(clock);
  const next = startRun({
    plan,
    bench,
    clock,
    journal,
    run: "next",
    unit: null,
    seed: 1,
    benchName: "scripted bench",
    program: "holdfast test",
    heatersOnMs,
    ...options,
  });
  return { bench, clock, plan, journal, run: next };
}

function falls(rehearsal: Rehearsal) {
  return eventsOf(rehearsal, "rail-fall").map(({ rail, proof }) => `${rail} ${proof}`);
}

describe("a run that takes heaters over", () => {
  it("says at once that they are on, and since when", async () => {
    const rehearsal = await handedOver();
    const [taken] = eventsOf(rehearsal, "rail-switched");
    expect(taken).toMatchObject({ rail: "heater", on: true });
    expect(taken?.takenOverMs).toBeGreaterThan(rehearsal.plan.warmUp.timeoutMs);
    expect(rehearsal.run.snapshot().rails.find(({ rail }) => rail === "heater")?.on).toBe(true);
    rehearsal.run.stop("person", "s");
    await untilEnd(rehearsal);
  });

  it("proves their fall when it is stopped before it has done anything", async () => {
    const rehearsal = await handedOver();
    rehearsal.run.stop("signal", "SIGTERM");
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "signal", allProvedOff: true, heatersKeptOnMs: null });
    expect(falls(rehearsal)).toEqual([
      "plate never raised",
      "bias never raised",
      "heater verified",
    ]);
    expect(rehearsal.bench.isOn("heater")).toBe(false);
  });

  it("does not call them proved off when their relay is welded", async () => {
    const rehearsal = await handedOver();
    rehearsal.bench.mishaps.weldedRails.add("heater");
    rehearsal.run.stop("person", "s");
    const end = await untilEnd(rehearsal);
    expect(end.allProvedOff).toBe(false);
    expect(foldJournal(rehearsal.journal.entries).verdict).toBe("void");
  });

  it("ends when they are not in their window any more, before anything else is switched", async () => {
    const rehearsal = await handedOver();
    rehearsal.bench.setSupply("heater", 9);
    const end = await untilEnd(rehearsal);
    expect(["trip", "supply refused"]).toContain(end.cause);
    expect(end.verdict).toBe("void");
    expect(rehearsal.bench.requests.filter((one) => one === "switchRail plate on")).toHaveLength(1);
    expect(rehearsal.bench.isOn("heater")).toBe(false);
  });

  it("does not switch them on again when the controller has switched them off meanwhile", async () => {
    const rehearsal = await handedOver();
    rehearsal.bench.restart();
    const end = await untilEnd(rehearsal);
    expect(end.cause).toBe("controller restarted");
    const switched = rehearsal.bench.requests.filter((one) => one === "switchRail heater on");
    expect(switched).toHaveLength(1);
  });

  it("warms up anew, by what it sees", async () => {
    const rehearsal = await handedOver();
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "pass", allProvedOff: true });
    expect(eventsOf(rehearsal, "warm-up-ended")).toMatchObject([{ warm: true, cold: [] }]);
    expect(eventsOf(rehearsal, "net-warm").length).toBeGreaterThanOrEqual(2);
  });

  it.each(breakings)("broken off by $name at its first moment ends safe", async (breaking) => {
    const rehearsal = await handedOver();
    breaking.act(rehearsal);
    const end = await untilEnd(rehearsal);
    await rehearsal.clock.advance(1500);
    expect(rehearsal.bench.violations).toEqual([]);
    for (const { rail } of rehearsal.plan.rails) expect(rehearsal.bench.isOn(rail)).toBe(false);
    if (breaking.provable) expect(end.allProvedOff).toBe(true);
    else expect(end.allProvedOff).toBe(false);
  });
});

/** Just ordered off, plate falling, bias falling, bias nearly down. */
const moments = [0, 30, 400, 1400];

describe.each(moments)("a run %i ms on its way down to standby", (afterMs) => {
  it.each(breakings)("broken off by $name goes down to the end", async ({ act, provable }) => {
    const rehearsal = rehearse({ options: { conduct: { ...PLAIN_PROOF, standbyMs: 60_000 } } });
    const { bench, clock, plan, run } = rehearsal;
    while (run.snapshot().phase !== "powering down") await clock.advance(1);
    await clock.advance(afterMs);
    expect(bench.isOn("heater")).toBe(true);
    act(rehearsal);
    const end = await untilEnd(rehearsal);
    await clock.advance(1500);
    expect(bench.violations).toEqual([]);
    for (const { rail } of plan.rails) expect(bench.isOn(rail)).toBe(false);
    expect(end.heatersKeptOnMs).toBeNull();
    expect(end.allProvedOff).toBe(provable);
    expect(eventsOf(rehearsal, "standby-begun")).toEqual([]);
    const told = eventsOf(rehearsal, "rail-fall").map(({ rail }) => rail);
    // With the disk full nothing more is told, but all of it is done; a fall not proved is tried again.
    if (end.cause !== "journal fault")
      expect([...new Set(told)]).toEqual(["plate", "bias", "heater"]);
  });
});

describe("a run in standby", () => {
  it.each(["person", "signal"] as const)("stopped by a %s keeps its pass", async (by) => {
    const rehearsal = rehearse({ options: { conduct: { ...PLAIN_PROOF, standbyMs: 60_000 } } });
    while (rehearsal.run.snapshot().phase !== "standby") await rehearsal.clock.advance(10);
    rehearsal.run.stop(by, "s");
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "completed", verdict: "pass", allProvedOff: true });
  });

  it("loses its pass with the link, for then nobody sees the heaters go off", async () => {
    const rehearsal = rehearse({ options: { conduct: { ...PLAIN_PROOF, standbyMs: 60_000 } } });
    while (rehearsal.run.snapshot().phase !== "standby") await rehearsal.clock.advance(10);
    rehearsal.bench.loseLink();
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "link lost", verdict: "void", allProvedOff: false });
  });
});
