/** Good beats of supervision, one after the other inside one actor. */
import { describe, expect, it } from "vitest";
import { createActor } from "xstate";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import { createRunParts } from "../../src/run/run-parts.ts";
import { Scribe } from "../../src/run/scribe.ts";
import { supervisionActors } from "../../src/run/supervision.actors.ts";
import { latchPlan } from "./latch-plan.ts";
import { ScriptedBench } from "./scripted-bench.ts";

const EXCHANGE_MS = 5;
const HEARTBEAT_MS = 250;

function supervised() {
  const clock = createVirtualClock();
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
  const journal = { append: () => undefined, seal: () => undefined };
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
  return { actor, clock, times };
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

  it("feeds nothing any more when it is stopped between a look and its feed", async () => {
    const { actor, clock, times } = supervised();
    actor.start();
    await clock.advance(EXCHANGE_MS / 2);
    actor.stop();
    await clock.advance(1000);
    expect(times.map(({ what }) => what)).toEqual(["scan"]);
  });
});
