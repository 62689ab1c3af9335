/** A frozen step, done again: it comes by the very reading that missed, hold or flip or moved line. */
import { describe, expect, it } from "vitest";
import type { Plan } from "../../src/events/plan.ts";
import { PLAIN_PROOF } from "../../src/run/conduct.ts";
import { longestTurnMs, turnActions } from "../../src/run/repeated-step.ts";
import { latchPlan } from "./latch-plan.ts";
import { eventsOf, type Rehearsal, rehearse, untilEnd } from "./rehearse.ts";

const plan = latchPlan();

function stepAt(index: number): Plan["steps"][number] {
  const step = plan.steps[index];
  if (step === undefined) throw new RangeError(`no step ${index}`);
  return step;
}

describe("turnActions", () => {
  it("sets a pattern and reads it", () => {
    const actions = turnActions(stepAt(0), {}, () => "low");
    expect(actions).toEqual([
      { set: { SET: "low", RESET: "high" }, expect: { Q: "low", QN: "high" } },
    ]);
  });

  it("enters a hold, moves each of its lines to and fro, and flips it", () => {
    const held = { Q: "high", QN: "low" };
    expect(turnActions(stepAt(2), {}, () => "low")).toEqual([
      { set: { SET: "high" }, expect: null },
      { set: { SET: "low" }, expect: held },
      { set: { LAMP: "high" }, expect: held },
      { set: { LAMP: "low" }, expect: held },
      { set: { RESET: "high" }, expect: null },
      { set: { RESET: "low" }, expect: { Q: "low", QN: "high" } },
    ]);
  });

  it("moves a line from where it stands, such as a lamp left on at the miss", () => {
    const moved = turnActions(stepAt(2), {}, (line) => (line === "LAMP" ? "high" : "low"));
    expect(moved.slice(2, 4).map(({ set }) => set)).toEqual([{ LAMP: "low" }, { LAMP: "high" }]);
  });

  it("brings other lines back in an action of its own, so that they race with none of the step", () => {
    const [first, second] = turnActions(stepAt(1), { SET: "high" }, () => "low");
    expect(first).toEqual({ set: { SET: "high" }, expect: null });
    expect(second?.set).toEqual({ RESET: "low" });
  });

  it("leaves a line that the step drives itself where a loop put it, so that its edge comes again", () => {
    expect(turnActions(stepAt(1), { RESET: "low" }, () => "high")).toEqual([
      { set: { RESET: "low" }, expect: { Q: "low", QN: "high" } },
    ]);
  });

  it("never takes longer than longestTurnMs says", () => {
    for (const step of plan.steps) {
      const { length } = turnActions(step, { SET: "high" }, () => "low");
      expect(length * step.settleMs).toBeLessThanOrEqual(longestTurnMs(plan));
    }
  });
});

async function frozenAt(prepare: (rehearsal: Rehearsal) => void): Promise<Rehearsal> {
  const rehearsal = rehearse({ options: { conduct: { ...PLAIN_PROOF, freezeMs: 60_000 } } });
  const { clock, run } = rehearsal;
  while (run.snapshot().phase !== "holding") await clock.advance(10);
  prepare(rehearsal);
  while (run.snapshot().phase !== "frozen") await clock.advance(10);
  return rehearsal;
}

describe("a hold frozen because it did not flip", () => {
  it("is repeated to its flip, fails there, and passes once mended, which counts for nothing", async () => {
    const rehearsal = await frozenAt(({ bench }) => bench.mishaps.stuckLines.set("RESET", "low"));
    const { bench, clock, run } = rehearsal;
    expect(run.snapshot().freeze?.step).toBe(2);
    run.ask({ kind: "repeat" });
    await clock.advance(2000);
    bench.mishaps.stuckLines.delete("RESET");
    run.ask({ kind: "repeat" });
    await clock.advance(2000);
    const turns = eventsOf(rehearsal, "freeze-turn");
    expect(turns.map(({ result }) => result)).toEqual(["fail", "pass"]);
    expect(turns.map(({ readings }) => readings.find(({ channel }) => channel === "Q"))).toEqual([
      expect.objectContaining({ expected: "low", class: "high" }),
      expect.objectContaining({ expected: "low", class: "low" }),
    ]);
    run.ask({ kind: "let go" });
    expect(await untilEnd(rehearsal)).toMatchObject({ cause: "first fail", verdict: "fail" });
  });

  it("is repeated from where its lines stood at the miss, whatever a loop moved since", async () => {
    const rehearsal = await frozenAt(({ bench }) => bench.mishaps.stuckLines.set("RESET", "low"));
    const { bench, clock, run } = rehearsal;
    run.ask({ kind: "loop", with: 0 });
    while (eventsOf(rehearsal, "freeze-turn").length === 0) await clock.advance(2);
    run.ask({ kind: "loop", with: null });
    await clock.advance(3000);
    const before = bench.requests.length;
    run.ask({ kind: "repeat" });
    await clock.advance(2000);
    const [first] = bench.requests.slice(before).filter((one) => one.startsWith("setLines"));
    // Step 1 left RESET high; at the miss it was low.
    expect(first).toBe("setLines RESET=low");
    run.ask({ kind: "let go" });
    await untilEnd(rehearsal);
  });
});
