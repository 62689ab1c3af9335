/** Between two legs of a soak: everything is off, and the controller is still heard. */
import { describe, expect, it } from "vitest";
import type { BenchEvent } from "../../src/bench/bench.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunEvent } from "../../src/events/events.ts";
import type { GoOnAfter, SoakOrder } from "../../src/events/soak.ts";
import { restOnLink } from "../../src/run/rest-on-link.ts";
import { Scribe } from "../../src/run/scribe.ts";
import { startSoak } from "../../src/run/soak-run.ts";
import type { RunEnd } from "../../src/run/start-run.ts";
import { latchPlan } from "./latch-plan.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { ScriptedBench } from "./scripted-bench.ts";

const plan = latchPlan();
const REST_MS = 60_000;

/** A rest that has begun, on a bench that can be made to speak. */
function resting() {
  const clock = createVirtualClock();
  const bench = new ScriptedBench({ plan, clock });
  const listeners = new Set<(event: BenchEvent) => void>();
  bench.onEvent = (listener) => {
    listeners.add(listener);
    return () => listeners.delete(listener);
  };
  const events: RunEvent[] = [];
  const journal = { append: (event: RunEvent) => void events.push(event), seal: () => undefined };
  const scribe = new Scribe(journal, () => undefined);
  const stop = new AbortController();
  const { signal } = stop;
  let outcome: unknown = "resting";
  restOnLink({ bench, clock, forMs: REST_MS, plan, scribe, signal }).then(
    (why) => {
      outcome = why;
    },
    (error: unknown) => {
      outcome = error;
    },
  );
  return {
    clock,
    events,
    stop,
    listeners,
    say: (event: BenchEvent) => {
      for (const listener of listeners) listener(event);
    },
    outcome: () => outcome,
  };
}

describe("a rest between two legs", () => {
  it("is over when its time is, and hears nobody after that", async () => {
    const rest = resting();
    await rest.clock.advance(REST_MS - 1);
    expect(rest.outcome()).toBe("resting");
    await rest.clock.advance(1);
    expect(rest.outcome()).toBeNull();
    expect(rest.listeners.size).toBe(0);
    expect(rest.events).toEqual([]);
  });

  it.each<[string, BenchEvent, object]>([
    [
      "a restart",
      { kind: "restarted", cause: "WDT", bootCount: 9 },
      { cause: "controller restarted" },
    ],
    ["a lost link", { kind: "link-lost", reason: "cable pulled" }, { cause: "link lost" }],
    ["a trip", { kind: "tripped", channel: "plate.board", code: 900, atMs: 1 }, { cause: "trip" }],
  ])("ends with %s, at once and written down", async (_, event, ending) => {
    const rest = resting();
    await rest.clock.advance(1000);
    rest.say(event);
    await rest.clock.advance(1);
    expect(rest.outcome()).toMatchObject(ending);
    expect(rest.listeners.size).toBe(0);
    expect(rest.events).toMatchObject([{ kind: "controller-event", event: event.kind }]);
  });

  it("keeps the first reason where the controller says two things", async () => {
    const rest = resting();
    rest.say({ kind: "restarted", cause: "BOR", bootCount: 2 });
    rest.say({ kind: "link-lost", reason: "cable pulled" });
    await rest.clock.advance(1);
    expect(rest.outcome()).toMatchObject({ cause: "controller restarted" });
  });

  it("gives way to a stop with the stop's own reason, also when the controller spoke as well", async () => {
    const rest = resting();
    const reason = new Error("key s");
    rest.stop.abort(reason);
    rest.say({ kind: "link-lost", reason: "cable pulled" });
    await rest.clock.advance(1);
    expect(rest.outcome()).toBe(reason);
    expect(rest.listeners.size).toBe(0);
  });
});

const order: SoakOrder = {
  cycle: [
    {
      kind: "pattern",
      index: 0,
      name: "set",
      set: { SET: "high" },
      settleMs: 50,
      expect: { Q: "high", QN: "low" },
      note: null,
    },
    {
      kind: "pattern",
      index: 1,
      name: "reset",
      set: { SET: "low", RESET: "high" },
      settleMs: 50,
      expect: { Q: "low", QN: "high" },
      note: null,
    },
    {
      kind: "pattern",
      index: 2,
      name: "reset held",
      set: { RESET: "low" },
      settleMs: 50,
      expect: { Q: "low", QN: "high" },
      note: null,
    },
  ],
  forMs: null,
  cycles: 40,
  errorsMax: null,
  everyMs: 500,
  readEveryMs: 10_000,
  power: { onMs: 8000, offMs: REST_MS },
  dwell: null,
  goOn: [],
  attendance: "attended",
};

/** A soak, to the middle of its first rest. */
async function soakAtRest(goOn: readonly GoOnAfter[], again?: { readonly resetCause: string }) {
  const clock = createVirtualClock();
  const bench = new ScriptedBench({ plan, clock });
  const journal = new MemoryJournal(clock);
  const looked: string[] = [];
  const run = startSoak({
    plan,
    bench,
    clock,
    journal,
    run: "rehearsal",
    unit: null,
    seed: 1,
    benchName: "scripted bench",
    program: "holdfast test",
    order: { ...order, goOn },
    openedMs: clock.nowMs(),
    resumed: null,
    findAgain: async () => {
      looked.push("again");
      const found = new ScriptedBench({ plan, clock });
      Object.assign(found.identity, { bootCount: 2, resetCause: again?.resetCause ?? "POR" });
      return { bench: found, isTripped: false };
    },
  });
  const isAtRest = (): boolean => {
    const last = journal.events.at(-1);
    return last?.kind === "phase" && last.phase === "power off";
  };
  while (!isAtRest()) await clock.advance(500);
  await clock.advance(REST_MS / 2);
  const untilEnd = async (): Promise<RunEnd> => {
    let end: RunEnd | null = null;
    void run.done.then((reached) => {
      end = reached;
    });
    for (let waitedMs = 0; waitedMs < 600_000; waitedMs += 1000) {
      await clock.advance(1000);
      if (end !== null) return end;
    }
    throw new Error("The soak did not end.");
  };
  const legs = () =>
    journal.events.flatMap((event) => (event.kind === "leg-begun" ? [event.why] : []));
  return { bench, clock, looked, run, untilEnd, legs };
}

describe("what befalls a soak while everything is off", () => {
  it("a cut of the mains is gone on after where that was chosen, and the controller tells of it", async () => {
    const soak = await soakAtRest(["mains cut"]);
    soak.bench.restart("POR");
    expect(await soak.untilEnd()).toMatchObject({ cause: "completed", allProvedOff: true });
    expect(soak.legs().slice(0, 2)).toEqual(["first", "mains cut"]);
  });

  it("a restart that nobody can explain is not, whatever was chosen", async () => {
    const soak = await soakAtRest(["link lost", "host crash", "mains cut"], { resetCause: "WDT" });
    soak.bench.restart();
    expect(await soak.untilEnd()).toMatchObject({ cause: "controller restarted" });
    expect(soak.legs()).toEqual(["first"]);
  });

  it("a restart ends it where going on was not chosen, and nobody looks for the controller", async () => {
    const soak = await soakAtRest(["link lost"]);
    soak.bench.restart();
    expect(await soak.untilEnd()).toMatchObject({ cause: "controller restarted" });
    expect(soak.legs()).toEqual(["first"]);
    expect(soak.looked).toEqual([]);
  });

  it("a cable that is pulled ends it, or is waited for where that was chosen", async () => {
    const pulled = await soakAtRest([]);
    pulled.bench.loseLink();
    expect(await pulled.untilEnd()).toMatchObject({ cause: "link lost" });
    expect(pulled.legs()).toEqual(["first"]);

    const back = await soakAtRest(["link lost"], { resetCause: "EXT" });
    back.bench.loseLink();
    expect(await back.untilEnd()).toMatchObject({ cause: "completed" });
    expect(back.legs().slice(0, 2)).toEqual(["first", "link lost"]);
  });

  it("a stop ends it without a rail switched on again", async () => {
    const soak = await soakAtRest([]);
    const before = soak.bench.requests.length;
    soak.run.stop("person", "key s");
    expect(await soak.untilEnd()).toMatchObject({
      cause: "stopped by the person",
      allProvedOff: true,
    });
    expect(soak.bench.requests.slice(before).filter((one) => / on$/.test(one))).toEqual([]);
  });
});
