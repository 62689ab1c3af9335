/** A bench that stops answering while a person has the board in hand: no state waits for it for ever. */
import { describe, expect, it } from "vitest";
import type { Bench } from "../../src/bench/bench.ts";
import type { RunWish } from "../../src/events/run-wish.ts";
import { PLAIN_PROOF, type RunConduct } from "../../src/run/conduct.ts";
import { latchPlan } from "./latch-plan.ts";
import { eventsOf, rehearse, untilEnd } from "./rehearse.ts";

interface Hang {
  readonly phase: string;
  readonly conduct: Partial<RunConduct>;
  readonly wish: RunWish | null;
  readonly hung: keyof Bench;
}

const MINUTES_MS = 600_000;
const hand = { mode: "hand", handMs: MINUTES_MS } as const;
const drive: RunWish = { kind: "drive", line: "SET", level: "high" };

const hangs: readonly Hang[] = [
  { phase: "by hand", conduct: hand, wish: null, hung: "read" },
  { phase: "by hand", conduct: hand, wish: null, hung: "scanRails" },
  { phase: "by hand", conduct: hand, wish: null, hung: "feed" },
  { phase: "by hand", conduct: hand, wish: drive, hung: "setLines" },
  { phase: "by hand", conduct: hand, wish: { kind: "pulse", line: "SET" }, hung: "setLines" },
  {
    phase: "frozen",
    conduct: { freezeMs: MINUTES_MS },
    wish: { kind: "repeat" },
    hung: "setLines",
  },
  { phase: "frozen", conduct: { freezeMs: MINUTES_MS }, wish: { kind: "repeat" }, hung: "read" },
  { phase: "frozen", conduct: { freezeMs: MINUTES_MS }, wish: null, hung: "scanRails" },
  { phase: "standby", conduct: { standbyMs: MINUTES_MS }, wish: null, hung: "scanRails" },
  { phase: "standby", conduct: { standbyMs: MINUTES_MS }, wish: null, hung: "feed" },
];

describe.each(hangs)(
  "$phase with $hung hung (wish $wish.kind)",
  ({ phase, conduct, wish, hung }) => {
    it("ends long before its own time is over, with every output off", async () => {
      const weakLowV = phase === "frozen" ? { Q: 16 } : {};
      const options = { conduct: { ...PLAIN_PROOF, ...conduct } };
      const rehearsal = rehearse({ options, board: { weakLowV } });
      const { bench, clock, plan, run } = rehearsal;
      while (run.snapshot().phase !== phase) await clock.advance(10);
      const brokenMs = clock.nowMs();
      bench.mishaps.hung.add(hung);
      if (wish !== null) expect(run.ask(wish)).toBeNull();
      const end = await untilEnd(rehearsal);
      expect(clock.nowMs() - brokenMs).toBeLessThan(60_000);
      await clock.advance(2000);
      expect(end.cause).not.toBe("completed");
      expect(end.verdict).not.toBe("pass");
      expect(bench.violations).toEqual([]);
      for (const { rail } of plan.rails) expect(bench.isOn(rail)).toBe(false);
    });
  },
);

describe("a run on its way down to standby whose lines cannot be released", () => {
  it("does not stand by: heaters go off and are proved off", async () => {
    // One step, which leaves RESET driven high.
    const plan = latchPlan({ steps: latchPlan().steps.slice(0, 1) });
    const options = { conduct: { ...PLAIN_PROOF, standbyMs: MINUTES_MS } };
    const rehearsal = rehearse({ plan, options });
    const { bench, clock, run } = rehearsal;
    while (run.snapshot().phase !== "powering down") await clock.advance(1);
    bench.mishaps.hung.add("setLines");
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "completed", heatersKeptOnMs: null, allProvedOff: true });
    expect(bench.isOn("heater")).toBe(false);
    expect(eventsOf(rehearsal, "standby-begun")).toEqual([]);
  });
});
