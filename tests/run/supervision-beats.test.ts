/** Good beats of supervision, one after the other inside one actor. */
import { describe, expect, it } from "vitest";
import { createActor } from "xstate";
import { BenchError } from "../../src/bench/bench-error.ts";
import type { Clock } from "../../src/clock/clock.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunEvent } from "../../src/events/events.ts";
import { powerActors } from "../../src/run/power.actors.ts";
import { createRunParts } from "../../src/run/run-parts.ts";
import { Scribe } from "../../src/run/scribe.ts";
import { supervisionActors } from "../../src/run/supervision.actors.ts";
import { beatMsMax } from "../../src/run/timing.ts";
import { warmUpActors } from "../../src/run/warm-up.actors.ts";
import { latchPlan } from "./latch-plan.ts";
import { ScriptedBench } from "./scripted-bench.ts";

const EXCHANGE_MS = 5;
const HEARTBEAT_MS = 250;

function supervised() {
  const clock = interruptedClock();
  const plan = latchPlan();
  const bench = new ScriptedBench({ plan, clock });
  const times: { readonly what: "scan" | "feed"; readonly atMs: number }[] = [];
  const { feed, scanRails } = bench;
  bench.scanRails = async () => {
    times.push({ what: "scan", atMs: clock.nowMs() });
    await clock.delay(EXCHANGE_MS);
    return scanRails.call(bench);
  };
  bench.feed = async (scan) => {
    times.push({ what: "feed", atMs: clock.nowMs() });
    return feed.call(bench, scan);
  };
  const events: RunEvent[] = [];
  const journal = { append: (event: RunEvent) => void events.push(event), seal: () => undefined };
  const scribe = new Scribe(journal, () => undefined);
  const parts = createRunParts({
    plan,
    bench,
    clock,
    scribe,
    block: null,
    heartbeatMs: HEARTBEAT_MS,
  });
  const actor = createActor(supervisionActors(parts).beats, { clock });
  return { actor, bench, clock, events, parts, times };
}

/** A virtual clock whose computer can be held up: from then on it is so much later. */
function interruptedClock() {
  const clock = createVirtualClock();
  let lostMs = 0;
  const held: Clock & { advance(ms: number): Promise<void>; holdUp(ms: number): void } = {
    ...clock,
    nowMs: () => clock.nowMs() + lostMs,
    holdUp(ms) {
      lostMs += ms;
    },
  };
  return held;
}

describe("a round of beats", () => {
  it("feeds after every look, rests, and ends with a good look while its deadline is far", async () => {
    const { actor, clock, times } = supervised();
    actor.start();
    await clock.advance(5900);
    const { status, output } = actor.getSnapshot();
    expect(status).toBe("done");
    expect(output).toMatchObject({ kind: "good" });
    expect(times.map(({ what }) => what)).toEqual(
      times.map((_, at) => (at % 2 === 0 ? "scan" : "feed")),
    );
    const fed = times.filter(({ what }) => what === "feed").map(({ atMs }) => atMs);
    const apart = fed.slice(1).map((atMs, at) => atMs - (fed[at] ?? 0));
    expect(Math.min(...apart)).toBeGreaterThanOrEqual(HEARTBEAT_MS);
    // One beat may be lost before the dead-man's 600 ms are over.
    expect(2 * Math.max(...apart)).toBeLessThan(600);
  });

  it("looks again without a rest after a feed that was not taken, in time for the dead-man", async () => {
    const { actor, bench, clock, times } = supervised();
    const REPEAT_MS = 200;
    let lost = 3;
    const { feed } = bench;
    bench.feed = async (scan) => {
      lost -= 1;
      if (lost !== 0) return feed.call(bench, scan);
      // The line was lost; its repeat comes too late for its scan.
      await clock.delay(REPEAT_MS);
      throw new BenchError("refused", {
        command: `SYST:FEED ${scan}`,
        number: 106,
        text: "Scan too old to feed",
        attempt: 2,
      });
    };
    actor.start();
    await clock.advance(3000);
    expect(lost).toBeLessThan(0);
    const fed = times.filter(({ what }) => what === "feed").map(({ atMs }) => atMs);
    const apart = fed.slice(1).map((atMs, at) => atMs - (fed[at] ?? 0));
    expect(Math.max(...apart)).toBeGreaterThan(HEARTBEAT_MS + REPEAT_MS);
    // PROTOCOL.md, section 7: the dead-man strikes 600 ms after the last feed that was taken.
    expect(Math.max(...apart)).toBeLessThan(600);
  });

  it("says that the computer was held up, and takes that time for nobody's", async () => {
    const { actor, clock, parts, events, bench } = supervised();
    parts.progress.begin("cycling", 6000);
    let held = false;
    const { scanRails } = bench;
    bench.scanRails = async () => {
      // All that this program waits for comes 20 s late, once.
      if (!held) {
        held = true;
        await clock.delay(900);
        clock.holdUp(20_000);
      }
      return scanRails.call(bench);
    };
    actor.start();
    await clock.advance(2000);
    expect(actor.getSnapshot()).toMatchObject({ status: "done", output: { kind: "good" } });
    const next = createActor(supervisionActors(parts).look, { clock });
    next.start();
    await clock.advance(1000);
    expect(next.getSnapshot()).toMatchObject({ status: "done", output: { kind: "good" } });
    expect(events).toContainEqual({
      kind: "remark",
      text: expect.stringMatching(/held up: nothing of this program ran for about 2\d\.\d s/),
    });
  });

  it.each([
    {
      work: "the heaters' wait",
      begin: ({ parts, clock }: ReturnType<typeof supervised>) =>
        createActor(powerActors(parts).waitForHeaters, { clock }).start(),
    },
    {
      work: "a settle in warm-up",
      begin: ({ parts, clock }: ReturnType<typeof supervised>) =>
        createActor(warmUpActors(parts).settle, { clock, input: { settleMs: 100 } }).start(),
    },
  ])(
    "takes a hold-up too short to be told from a slow beat for no hang of $work",
    async ({ begin }) => {
      const given = supervised();
      const { actor, clock, parts, bench } = given;
      begin(given);
      let held = false;
      const { scanRails } = bench;
      bench.scanRails = async () => {
        if (!held) {
          held = true;
          clock.holdUp(beatMsMax - 2 * HEARTBEAT_MS);
        }
        return scanRails.call(bench);
      };
      actor.start();
      await clock.advance(2 * HEARTBEAT_MS);
      expect(held).toBe(true);
      const next = createActor(supervisionActors(parts).look, { clock });
      next.start();
      await clock.advance(50);
      expect(next.getSnapshot()).toMatchObject({ status: "done", output: { kind: "good" } });
    },
  );

  it("feeds nothing any more when it is stopped between a look and its feed", async () => {
    const { actor, clock, times } = supervised();
    actor.start();
    await clock.advance(EXCHANGE_MS / 2);
    actor.stop();
    await clock.advance(1000);
    expect(times.map(({ what }) => what)).toEqual(["scan"]);
  });
});
