/** Hand mode, freeze and standby on the scripted bench: what a person may do, and that all ends safe. */
import { describe, expect, it } from "vitest";
import { foldJournal } from "../../src/journal/fold.ts";
import { PLAIN_PROOF, type RunConduct } from "../../src/run/conduct.ts";
import { startRun } from "../../src/run/start-run.ts";
import { breakings } from "./break-off.ts";
import { latchPlan } from "./latch-plan.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { eventsOf, type Rehearsal, type RehearsalOptions, rehearse, untilEnd } from "./rehearse.ts";

const MINUTE_MS = 60_000;
const hand: RunConduct = { ...PLAIN_PROOF, mode: "hand", handMs: MINUTE_MS };
const freezing: RunConduct = { ...PLAIN_PROOF, freezeMs: MINUTE_MS };
const standing: RunConduct = { ...PLAIN_PROOF, standbyMs: MINUTE_MS };
const scope = { line: "SCOPE", output: 8 };

/** A board whose Q never comes down far enough: judged, and not passed. */
const weak = { weakLowV: { Q: 16 } };

function begin(conduct: RunConduct, more: RehearsalOptions = {}): Rehearsal {
  return rehearse({ ...more, options: { ...more.options, conduct } });
}

/** Let time pass until the run is in a phase. */
async function untilPhase(rehearsal: Rehearsal, phase: string): Promise<void> {
  for (let turn = 0; turn < 4000; turn += 1) {
    if (rehearsal.run.snapshot().phase === phase) return;
    await rehearsal.clock.advance(10);
  }
  throw new Error(
    `Expected the phase ${phase}, the run is in ${rehearsal.run.snapshot().phase}: ${rehearsal.run.snapshot().detail}`,
  );
}

function allOff({ bench, plan }: Rehearsal): boolean {
  return plan.rails.every(({ rail }) => !bench.isOn(rail));
}

describe("hand mode", () => {
  it("moves the lines at a person's wish and reads what comes of it", async () => {
    const rehearsal = begin(hand);
    const { bench, clock, run } = rehearsal;
    await untilPhase(rehearsal, "by hand");
    expect(run.ask({ kind: "drive", line: "SET", level: "high" })).toBeNull();
    await clock.advance(600);
    expect(bench.lineLevel("SET")).toBe("high");
    expect(run.snapshot().lines["SET"]).toBe("high");
    expect(run.snapshot().channels.find(({ channel }) => channel === "QN")?.class).toBe("low");
  });

  it("pulses a line: to its other level and back", async () => {
    const rehearsal = begin(hand);
    await untilPhase(rehearsal, "by hand");
    rehearsal.run.ask({ kind: "drive", line: "RESET", level: "low" });
    await rehearsal.clock.advance(300);
    const before = rehearsal.bench.requests.length;
    expect(rehearsal.run.ask({ kind: "pulse", line: "SET" })).toBeNull();
    await rehearsal.clock.advance(1000);
    const moved = rehearsal.bench.requests.slice(before).filter((one) => one.includes("SET="));
    expect(moved).toEqual(["setLines SET=high", "setLines SET=low"]);
    expect(rehearsal.run.snapshot().channels.find(({ channel }) => channel === "Q")?.class).toBe(
      "high",
    );
  });

  it("refuses a line the board does not have, and names those it has", async () => {
    const rehearsal = begin(hand);
    await untilPhase(rehearsal, "by hand");
    const refusal = rehearsal.run.ask({ kind: "drive", line: "RST", level: "high" });
    expect(refusal).toContain('"RST"');
    expect(refusal).toContain("SET, RESET, LAMP");
    expect(rehearsal.run.ask({ kind: "repeat" })).not.toBeNull();
  });

  it("takes no wish before the board is warm", () => {
    const { run } = begin(hand);
    expect(run.ask({ kind: "drive", line: "SET", level: "high" })).toContain("not in a state");
  });

  it("judges nothing: let go, it ends as not tested with every fall proved", async () => {
    const rehearsal = begin(hand);
    await untilPhase(rehearsal, "by hand");
    expect(rehearsal.run.ask({ kind: "let go" })).toBeNull();
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "completed", verdict: "not tested", allProvedOff: true });
    expect(eventsOf(rehearsal, "reading")).toEqual([]);
    expect(rehearsal.run.ask({ kind: "let go" })).toContain("ending");
  });

  it("ends by itself when its time is over", async () => {
    const rehearsal = begin({ ...hand, handMs: 5000 });
    const end = await untilEnd(rehearsal);
    const begun = rehearsal.journal.entries.find(({ event }) => event.kind === "hand-begun")?.ms;
    const down = rehearsal.journal.entries.find(
      ({ event }) => event.kind === "phase" && event.phase === "powering down",
    )?.ms;
    expect(end.cause).toBe("completed");
    expect((down ?? 0) - (begun ?? 0)).toBeGreaterThanOrEqual(5000);
    expect((down ?? 0) - (begun ?? 0)).toBeLessThan(5500);
  });

  it("keeps a reading at a change of class, and else about one a second", async () => {
    const rehearsal = begin({ ...hand, handMs: 10_000 });
    await untilEnd(rehearsal);
    const kept = eventsOf(rehearsal, "hand-reading");
    expect(kept.length).toBeGreaterThanOrEqual(8);
    expect(kept.length).toBeLessThanOrEqual(13);
    expect(kept[0]?.readings.map(({ channel }) => channel)).toEqual(["Q", "QN", "SET", "RESET"]);
  });

  it("says once that a line is not where it was driven, and goes on", async () => {
    const rehearsal = begin(hand);
    await untilPhase(rehearsal, "by hand");
    rehearsal.bench.mishaps.stuckLines.set("SET", "low");
    rehearsal.run.ask({ kind: "drive", line: "SET", level: "high" });
    await rehearsal.clock.advance(3000);
    const said = eventsOf(rehearsal, "remark").filter(({ text }) => text.includes("line SET"));
    expect(said).toHaveLength(1);
    expect(rehearsal.run.snapshot().phase).toBe("by hand");
  });

  it("does not pile up the repeats of a stuck key", async () => {
    const rehearsal = begin(hand);
    await untilPhase(rehearsal, "by hand");
    const answers = Array.from({ length: 50 }, () =>
      rehearsal.run.ask({ kind: "drive", line: "SET", level: "high" }),
    );
    expect(answers.filter((one) => one === null).length).toBeLessThanOrEqual(5);
    expect(answers.at(-1)).toContain("busy");
  });
});

describe("a freeze", () => {
  const scripted: RehearsalOptions = { plan: latchPlan({ trigger: scope }), board: weak };

  it("stands at the first step that did not pass, with plate on", async () => {
    const rehearsal = begin(freezing, scripted);
    await untilPhase(rehearsal, "frozen");
    await rehearsal.clock.advance(20_000);
    expect(rehearsal.run.snapshot().phase).toBe("frozen");
    expect(rehearsal.bench.isOn("plate")).toBe(true);
    const missed = rehearsal.run.snapshot().steps.find(({ state }) => state === "fail")?.index;
    expect(rehearsal.run.snapshot().freeze?.step).toBe(missed);
  });

  it("does not stand where the board passes", async () => {
    const rehearsal = begin(freezing);
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    expect(eventsOf(rehearsal, "frozen")).toEqual([]);
  });

  it("repeats the step with the trigger raised in the same action as the lines", async () => {
    const rehearsal = begin(freezing, scripted);
    await untilPhase(rehearsal, "frozen");
    const before = rehearsal.bench.requests.length;
    expect(rehearsal.run.ask({ kind: "repeat" })).toBeNull();
    await rehearsal.clock.advance(1000);
    const [turn] = eventsOf(rehearsal, "freeze-turn");
    expect(turn).toMatchObject({ turn: 1, result: "fail" });
    const sets = rehearsal.bench.requests.slice(before).filter((one) => one.startsWith("setLines"));
    expect(sets[0]).toMatch(/SCOPE=high$/);
    expect(sets[0]).toMatch(/(SET|RESET)=/);
    expect(sets.at(-1)).toBe("setLines SCOPE=low");
  });

  it("loops two steps in turn until told otherwise", async () => {
    const rehearsal = begin(freezing, scripted);
    await untilPhase(rehearsal, "frozen");
    const frozen = rehearsal.run.snapshot().freeze?.step ?? 0;
    const other = frozen === 0 ? 1 : 0;
    expect(rehearsal.run.ask({ kind: "loop", with: frozen })).toContain("another step");
    expect(rehearsal.run.ask({ kind: "loop", with: 99 })).toContain("no step 100");
    expect(rehearsal.run.ask({ kind: "loop", with: other })).toBeNull();
    await rehearsal.clock.advance(3000);
    const steps = eventsOf(rehearsal, "freeze-turn").map(({ step }) => step);
    expect(steps.length).toBeGreaterThan(4);
    expect(steps.slice(0, 4)).toEqual([other, frozen, other, frozen]);
    rehearsal.run.ask({ kind: "loop", with: null });
    await rehearsal.clock.advance(1000);
    const turns = eventsOf(rehearsal, "freeze-turn").length;
    await rehearsal.clock.advance(3000);
    expect(eventsOf(rehearsal, "freeze-turn")).toHaveLength(turns);
  });

  it("counts nothing of what it repeats: mended on the bench, the board has still failed", async () => {
    const rehearsal = begin(freezing, scripted);
    await untilPhase(rehearsal, "frozen");
    rehearsal.run.ask({ kind: "repeat" });
    await rehearsal.clock.advance(1000);
    rehearsal.run.ask({ kind: "let go" });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "first fail", verdict: "fail", allProvedOff: true });
    expect(foldJournal(rehearsal.journal.entries).verdict).toBe("fail");
  });

  it("ends by itself when its time is over, as what was found", async () => {
    const rehearsal = begin({ ...freezing, freezeMs: 3000 }, scripted);
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "first fail", verdict: "fail" });
    expect(eventsOf(rehearsal, "thawed")).toEqual([{ kind: "thawed", why: "time over" }]);
  });

  it("does not stand on a trip", async () => {
    const rehearsal = begin(freezing);
    await untilPhase(rehearsal, "stepping");
    rehearsal.bench.trip("plate.board");
    expect((await untilEnd(rehearsal)).cause).toBe("trip");
    expect(eventsOf(rehearsal, "frozen")).toEqual([]);
  });

  it("keeps what was found when the person stops", async () => {
    const rehearsal = begin(freezing, scripted);
    await untilPhase(rehearsal, "frozen");
    rehearsal.run.stop("person", "key s");
    expect(await untilEnd(rehearsal)).toMatchObject({ cause: "first fail", verdict: "fail" });
  });
});

describe("standby", () => {
  it("has plate and bias proved off and the heaters on", async () => {
    const rehearsal = begin(standing);
    await untilPhase(rehearsal, "standby");
    const { bench, run } = rehearsal;
    expect([bench.isOn("plate"), bench.isOn("bias"), bench.isOn("heater")]).toEqual([
      false,
      false,
      true,
    ]);
    expect(run.snapshot().standby?.verdict).toBe("pass");
    expect(run.snapshot().rails.map(({ rail, fall }) => [rail, fall])).toEqual([
      ["heater", null],
      ["bias", "verified"],
      ["plate", "verified"],
    ]);
  });

  it.each(["let go", "time over"])("ends by %s with the heaters proved off too", async (how) => {
    const rehearsal = begin({ ...standing, standbyMs: 8000 });
    await untilPhase(rehearsal, "standby");
    if (how === "let go") rehearsal.run.ask({ kind: "let go" });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "pass", allProvedOff: true, heatersKeptOnMs: null });
    expect(allOff(rehearsal)).toBe(true);
    expect(eventsOf(rehearsal, "standby-ended")).toEqual([{ kind: "standby-ended", why: how }]);
    expect(eventsOf(rehearsal, "rail-fall").map(({ rail }) => rail)).toEqual([
      "plate",
      "bias",
      "heater",
    ]);
  });

  it("is not entered when plate or bias cannot be proved off", async () => {
    const rehearsal = begin(standing);
    rehearsal.bench.mishaps.weldedRails.add("bias");
    const end = await untilEnd(rehearsal);
    expect(end.allProvedOff).toBe(false);
    expect(end.verdict).toBe("void");
    expect(eventsOf(rehearsal, "standby-begun")).toEqual([]);
    expect(rehearsal.bench.isOn("heater")).toBe(false);
  });

  it("hands warm heaters to the next run, which proves them and need not wait for them", async () => {
    const rehearsal = begin(standing);
    const { bench, clock, plan, run } = rehearsal;
    await untilPhase(rehearsal, "standby");
    await clock.advance(5000);
    expect(run.ask({ kind: "next run" })).toBeNull();
    const first = await untilDone(rehearsal);
    expect(first).toMatchObject({ verdict: "pass", allProvedOff: false });
    expect(first.heatersKeptOnMs).not.toBeNull();
    expect(bench.isOn("heater")).toBe(true);
    const journal = new MemoryJournal(clock);
    const startMs = clock.nowMs();
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
      heatersOnMs: first.heatersKeptOnMs,
    });
    const end = await untilEnd({ ...rehearsal, run: next });
    expect(end).toMatchObject({ verdict: "pass", allProvedOff: true });
    expect(bench.violations).toEqual([]);
    const taken = eventsOf({ journal }, "rail-switched").find(({ rail }) => rail === "heater");
    expect(taken?.takenOverMs).toBeGreaterThan(5000);
    const plateMs = journal.entries.find(
      ({ event }) => event.kind === "rail-switched" && event.rail === "plate",
    )?.ms;
    expect((plateMs ?? 0) - startMs).toBeLessThan(plan.warmUp.heaterBeforePlateMs);
    expect(eventsOf({ journal }, "gate").filter(({ rail }) => rail === "heater")).toHaveLength(2);
  });

  it("follows a miss too, and keeps its verdict", async () => {
    const rehearsal = begin(standing, { board: weak });
    await untilPhase(rehearsal, "standby");
    expect(rehearsal.run.snapshot().standby?.verdict).toBe("fail");
    rehearsal.run.ask({ kind: "let go" });
    expect((await untilEnd(rehearsal)).verdict).toBe("fail");
  });

  it("leaves heaters off that nobody takes over: the controller hears nothing more", async () => {
    const rehearsal = begin(standing);
    await untilPhase(rehearsal, "standby");
    rehearsal.run.ask({ kind: "next run" });
    await untilDone(rehearsal);
    await rehearsal.clock.advance(1500);
    expect(rehearsal.bench.isOn("heater")).toBe(false);
  });
});

/** Like untilEnd, in small steps: the end is met before the dead-man strikes. */
async function untilDone({ clock, run }: Rehearsal) {
  let end: Awaited<typeof run.done> | null = null;
  void run.done.then((reached) => {
    end = reached;
  });
  for (let turn = 0; turn < 2000 && end === null; turn += 1) await clock.advance(2);
  return run.done;
}

const states = [
  { state: "by hand", conduct: hand, board: {} },
  { state: "frozen", conduct: freezing, board: weak },
  { state: "standby", conduct: standing, board: {} },
];

describe.each(states)("$state broken off", ({ state, conduct, board }) => {
  it.each(breakings)("by $name ends safe", async ({ act, provable }) => {
    const rehearsal = begin(conduct, { board });
    await untilPhase(rehearsal, state);
    await rehearsal.clock.advance(700);
    const before = rehearsal.bench.requests.length;
    act(rehearsal);
    const end = await untilEnd(rehearsal);
    await rehearsal.clock.advance(1500);
    expect(rehearsal.bench.violations).toEqual([]);
    expect(allOff(rehearsal)).toBe(true);
    if (provable) expect(end.allProvedOff).toBe(true);
    const raised = rehearsal.bench.requests
      .slice(before)
      .filter((request) => /^switchRail .* on$/.test(request));
    expect(raised).toEqual([]);
    if (state === "by hand") expect(end.verdict).not.toBe("pass");
  });
});
