/** Faults inside the program: a machine that throws, work that never ends, listeners, the journal. */
import { describe, expect, it } from "vitest";
import { BenchError } from "../../src/bench/bench-error.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { PlannedStep } from "../../src/events/plan.ts";
import { within } from "../../src/run/deadline.ts";
import { endingOf, RunFault } from "../../src/run/ending.ts";
import { EnergiseLatch } from "../../src/run/energise-latch.ts";
import { Progress } from "../../src/run/progress.ts";
import { Scribe } from "../../src/run/scribe.ts";
import { latchPlan } from "./latch-plan.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { eventsOf, rehearse, untilEnd } from "./rehearse.ts";

describe("a machine that throws inside itself", () => {
  it("still ends with every output off, in order and proved", async () => {
    const plan = latchPlan();
    const sound = plan.steps[1] as PlannedStep;
    let isBroken = false;
    let thrown = 0;
    const broken = Object.defineProperty({ ...sound }, "kind", {
      enumerable: true,
      get: () => {
        if (isBroken) {
          isBroken = false;
          thrown += 1;
          throw new Error("seeded in a guard");
        }
        return "pattern";
      },
    });
    const steps = [...plan.steps.slice(0, 1), broken as PlannedStep, ...plan.steps.slice(2)];
    const rehearsal = rehearse({
      plan: { ...plan, steps },
      prepare: ({ journal }) =>
        journal.subscribe(({ event }) => {
          if (event.kind === "step-ended" && event.step === 0) isBroken = true;
        }),
    });
    const end = await untilEnd(rehearsal);
    expect(thrown).toBe(1);
    expect(end).toMatchObject({ cause: "internal fault", verdict: "void", allProvedOff: true });
    expect(end.detail).toMatch(/seeded in a guard/);
    expect(rehearsal.bench.violations).toEqual([]);
  });
});

describe("a root machine that throws on its way to safe outputs", () => {
  it("is bypassed: the descent is made without it", async () => {
    const plan = latchPlan();
    let isBroken = false;
    const broken = Object.defineProperty({ ...plan }, "rails", {
      enumerable: true,
      get: () => {
        if (!isBroken) return plan.rails;
        isBroken = false;
        throw new Error("seeded in the root");
      },
    });
    const rehearsal = rehearse({ plan: broken });
    await rehearsal.clock.advance(3000);
    isBroken = true;
    rehearsal.run.stop("person", "stop key");
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "internal fault", verdict: "void", allProvedOff: true });
    expect(end.detail).toMatch(/seeded in the root/);
    expect(rehearsal.bench.violations).toEqual([]);
    expect(eventsOf(rehearsal, "run-closed")).toHaveLength(1);
  });
});

describe("work that never ends", () => {
  it("is noticed by supervision, which does not wait for the work's own deadline", () => {
    const clock = createVirtualClock();
    const progress = new Progress(clock);
    expect(progress.overdue(0)).toBeNull();
    progress.begin("reading a step", 0);
    expect(progress.overdue(100)).toBeNull();
  });

  it("is named once it is overdue, and no longer once other work has begun", async () => {
    const clock = createVirtualClock();
    const progress = new Progress(clock);
    progress.begin("reading a step", 50);
    await clock.advance(151);
    expect(progress.overdue(100)).toBe("reading a step");
    progress.begin("settling", 50);
    expect(progress.overdue(100)).toBeNull();
  });

  it("is given up at its deadline with what was waited for", async () => {
    const clock = createVirtualClock();
    const waiting = within(
      { clock, limitMs: 200, what: "a rail scan" },
      new Promise(() => undefined),
    );
    const refused = expect(waiting).rejects.toThrow(/a rail scan within 200 ms/);
    await clock.advance(200);
    await refused;
  });

  it("leaves no timer behind when it ends in time", async () => {
    const clock = createVirtualClock();
    await within({ clock, limitMs: 200, what: "a feed" }, Promise.resolve(7));
    expect(clock.pendingTimers).toBe(0);
  });
});

describe("EnergiseLatch", () => {
  it("keeps its first reason and refuses from then on", () => {
    const latch = new EnergiseLatch();
    expect(() => latch.assertOpen("driving lines")).not.toThrow();
    latch.close("stop key");
    latch.close("later");
    expect(latch.closedBecause).toBe("stop key");
    expect(() => latch.assertOpen("switching plate on")).toThrow(/switching plate on.*stop key/);
  });
});

describe("Scribe", () => {
  it("reports the first fault once, goes on without throwing, and keeps what was sealed", () => {
    const clock = createVirtualClock();
    const journal = new MemoryJournal(clock);
    const faults: unknown[] = [];
    const scribe = new Scribe(journal, (fault) => faults.push(fault));
    scribe.write({ kind: "remark", text: "before" });
    journal.fullFromMs = 0;
    scribe.write({ kind: "remark", text: "lost" });
    scribe.write({ kind: "remark", text: "lost too" });
    expect(faults).toHaveLength(1);
    expect(scribe.fault).toBe(faults[0]);
    expect(journal.events).toEqual([{ kind: "remark", text: "before" }]);
  });

  it("seals a reading with the step's end that follows it", () => {
    const journal = new MemoryJournal(createVirtualClock());
    const scribe = new Scribe(journal, () => undefined);
    scribe.write({ kind: "reading", step: 0, part: "pattern", readings: [] });
    expect(journal.events).toEqual([]);
    scribe.write({ kind: "step-ended", step: 0, result: "pass" });
    expect(journal.events.map(({ kind }) => kind)).toEqual(["reading", "step-ended"]);
  });

  it("writes a phase only when it changes", () => {
    const journal = new MemoryJournal(createVirtualClock());
    const scribe = new Scribe(journal, () => undefined);
    for (const phase of ["heating", "heating", "raising plate", "heating"] as const)
      scribe.phase(phase);
    expect(journal.events).toHaveLength(3);
  });
});

describe("a journal that fails at its last line", () => {
  it("leaves no pass behind: what was not sealed does not count", async () => {
    const rehearsal = rehearse({
      prepare: ({ clock, journal }) => {
        const append = journal.append.bind(journal);
        journal.append = (event) => {
          if (event.kind === "run-closed") journal.fullFromMs = clock.nowMs();
          append(event);
        };
      },
    });
    const end = await untilEnd(rehearsal);
    expect(eventsOf(rehearsal, "run-closed")).toEqual([]);
    expect(end).toMatchObject({ verdict: "void", cause: "journal fault", allProvedOff: true });
    expect(end.detail).toMatch(/room on the disk/);
  });
});

describe("endingOf(error)", () => {
  it.each([
    [new BenchError("link-lost", { port: "x", reason: "unplugged" }), "link lost"],
    [new BenchError("controller-restarted", { cause: "WDT" }), "controller restarted"],
    [
      new BenchError("refused", { command: "x", number: 101, text: "Trip latched", attempt: 1 }),
      "trip",
    ],
    [
      new BenchError("refused", { command: "x", number: 102, text: "Dead-man fired", attempt: 1 }),
      "dead-man",
    ],
    [
      new BenchError("refused", { command: "x", number: 103, text: "Bias", attempt: 1 }),
      "supply refused",
    ],
    [
      new BenchError("refused", { command: "x", number: -102, text: "Syntax", attempt: 1 }),
      "internal fault",
    ],
    [new RunFault("no-progress", "late"), "internal fault"],
    ["a string", "internal fault"],
  ] as const)("makes %s a reason", (error, cause) => {
    expect(endingOf(error)).toMatchObject({ cause, fault: { code: expect.any(String) } });
  });
});

describe("the note on an energised rig", () => {
  function keeper() {
    const notes: string[] = [];
    return {
      notes,
      raise: (reason: string) => void notes.push(`raise ${reason}`),
      clear: () => void notes.push("clear"),
    };
  }

  it("stands from before the first relay until every rail is proved off", async () => {
    const block = keeper();
    const rehearsal = rehearse({ options: { block } });
    await untilEnd(rehearsal);
    expect(block.notes).toEqual(["raise energised, and not yet proved off", "clear"]);
  });

  it("stays, and names the rails, when a fall is unproved", async () => {
    const block = keeper();
    const rehearsal = rehearse({
      options: { block },
      prepare: ({ bench }) => bench.at(3000, () => bench.loseLink()),
    });
    await untilEnd(rehearsal);
    expect(block.notes.at(-1)).toMatch(
      /^raise plate unproved, bias unproved, heater unproved after: /,
    );
  });

  it("keeps the relays open when it cannot be written", async () => {
    const block = {
      raise: () => {
        throw new Error("disk full");
      },
      clear: () => undefined,
    };
    const rehearsal = rehearse({ options: { block } });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ cause: "internal fault", verdict: "void", allProvedOff: true });
    expect(rehearsal.bench.requests.filter((request) => / on$/.test(request))).toEqual([]);
  });
});

describe("a stop", () => {
  it("is bounded: the longest falls and no more", async () => {
    const rehearsal = rehearse();
    await rehearsal.clock.advance(3000);
    rehearsal.run.stop("person", "stop key");
    const longestMs = rehearsal.plan.rails.reduce((sum, { fallMsMax }) => sum + fallMsMax, 500);
    let isOver = false;
    void rehearsal.run.done.then(() => {
      isOver = true;
    });
    await rehearsal.clock.advance(longestMs);
    expect(isOver).toBe(true);
    expect(eventsOf(rehearsal, "stop-requested")).toHaveLength(1);
  });

  it("changes nothing while a passed run powers down, but a program that breaks then voids it", async () => {
    const during = (act: (rehearsal: ReturnType<typeof rehearse>) => void) => {
      let hasActed = false;
      const rehearsal: ReturnType<typeof rehearse> = rehearse({
        prepare: ({ journal }) =>
          journal.subscribe(({ event }) => {
            if (event.kind !== "rail-fall" || hasActed) return;
            hasActed = true;
            act(rehearsal);
          }),
      });
      return untilEnd(rehearsal);
    };
    const stopped = await during(({ run }) => run.stop("person", "stop key"));
    expect(stopped).toMatchObject({ verdict: "pass", cause: "completed", allProvedOff: true });
    const failed = await during(({ run }) => run.fail(new Error("seeded late")));
    expect(failed).toMatchObject({ verdict: "void", cause: "internal fault", allProvedOff: true });
  });

  it("after the end does nothing", async () => {
    const rehearsal = rehearse();
    await untilEnd(rehearsal);
    const count = rehearsal.journal.entries.length;
    rehearsal.run.stop("person", "stop key");
    rehearsal.run.fail(new Error("late"));
    expect(rehearsal.journal.entries).toHaveLength(count);
  });
});
