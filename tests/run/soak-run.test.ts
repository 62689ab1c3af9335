/** A soak on the scripted bench: what is counted, what is kept whole, and after what it goes on. */
import { describe, expect, it } from "vitest";
import { createVirtualClock, type VirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunEvent } from "../../src/events/events.ts";
import type { SoakOrder } from "../../src/events/soak.ts";
import { foldJournal } from "../../src/journal/fold.ts";
import { type SoakOptions, startSoak } from "../../src/run/soak-run.ts";
import type { RunEnd } from "../../src/run/start-run.ts";
import { latchPlan } from "./latch-plan.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { ScriptedBench } from "./scripted-bench.ts";

const plan = latchPlan();
const step = (
  index: number,
  name: string,
  set: SoakOrder["cycle"][number]["set"],
  q: "low" | "high",
): SoakOrder["cycle"][number] => ({
  kind: "pattern",
  index,
  name,
  set,
  settleMs: 50,
  expect: { Q: q, QN: q === "low" ? "high" : "low" },
  note: null,
});

const order: SoakOrder = {
  cycle: [
    step(0, "set", { SET: "high" }, "high"),
    step(1, "set held", { SET: "low" }, "high"),
    step(2, "reset", { RESET: "high" }, "low"),
    step(3, "reset held", { RESET: "low" }, "low"),
  ],
  forMs: null,
  cycles: 60,
  errorsMax: null,
  everyMs: 500,
  readEveryMs: 10_000,
  power: null,
  dwell: null,
  goOn: [],
  attendance: "attended",
};

interface Given {
  readonly change?: Partial<SoakOrder>;
  readonly options?: Partial<SoakOptions>;
  readonly prepare?: (parts: {
    bench: ScriptedBench;
    clock: VirtualClock;
    journal: MemoryJournal;
  }) => void;
}

function begin({ change = {}, options = {}, prepare }: Given = {}) {
  const clock = createVirtualClock();
  const bench = new ScriptedBench({ plan, clock });
  const journal = new MemoryJournal(clock);
  prepare?.({ bench, clock, journal });
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
    order: { ...order, ...change },
    openedMs: clock.nowMs(),
    resumed: null,
    findAgain: null,
    ...options,
  });
  return { bench, clock, journal, run };
}

const LONGEST_MS = 400_000;

async function untilEnd({ clock, run }: ReturnType<typeof begin>): Promise<RunEnd> {
  let end: RunEnd | null = null;
  void run.done.then((reached) => {
    end = reached;
  });
  for (let waitedMs = 0; waitedMs < LONGEST_MS; waitedMs += 1000) {
    await clock.advance(1000);
    if (end !== null) return end;
  }
  throw new Error(`The soak did not end within ${LONGEST_MS} ms of its own clock.`);
}

function eventsOf<Kind extends RunEvent["kind"]>(journal: MemoryJournal, kind: Kind) {
  return journal.events.filter(
    (event): event is Extract<RunEvent, { kind: Kind }> => event.kind === kind,
  );
}

/** How often the bench was told to take a line from low to high. */
function timesHigh({ requests }: ScriptedBench, line: string): number {
  const levels = requests.flatMap((one) => new RegExp(`\\b${line}=(\\w+)`).exec(one)?.[1] ?? []);
  return levels.filter((level, at) => level === "high" && levels[at - 1] !== "high").length;
}

const ten = (first: number) => Array.from({ length: 10 }, (_, at) => first + at);
const isOk = ({ violations }: ScriptedBench) => violations;

describe("a soak", () => {
  it("cycles as often as ordered, counts apart, and passes with every rail proved off", async () => {
    const soak = begin();
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ verdict: "pass", cause: "completed", allProvedOff: true });
    const { counts } = eventsOf(soak.journal, "soak-tally").at(-1) ?? {};
    expect(counts).toMatchObject({ cycles: 60, wrong: 0, unjudged: 0, powerCycles: 1 });
    // Warm-up and the cycle before the first work the relays as well.
    expect(counts?.closings).toEqual({
      heater: 1,
      bias: 1,
      plate: 1,
      SET: timesHigh(soak.bench, "SET"),
      RESET: timesHigh(soak.bench, "RESET"),
    });
    expect(counts?.closings["SET"]).toBeGreaterThan(60);
    // 60 cycles half a second apart.
    expect(counts?.cyclingMs).toBeGreaterThan(29_000);
    expect(counts?.cyclingMs).toBeLessThan(32_000);
    expect(isOk(soak.bench)).toEqual([]);
  });

  it("counts a power cycle as soon as plate is on, for whoever goes on after a program that told of no cycle", async () => {
    const died = begin();
    while (eventsOf(died.journal, "rail-switched").every(({ rail }) => rail !== "plate"))
      await died.clock.advance(100);
    const folded = foldJournal(died.journal.entries.slice());
    const why = "host crash" as const;
    const soak = begin({ options: { resumed: { folded, why, gapMs: 1000, tornBytes: 0 } } });
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed" });
    expect(eventsOf(soak.journal, "soak-tally").at(-1)?.counts.powerCycles).toBe(2);
  });

  it("takes full sets at its beginning, as often as ordered, and at its end", async () => {
    const soak = begin();
    await untilEnd(soak);
    const moments = eventsOf(soak.journal, "soak-readings").map(({ moment }) => moment);
    expect(moments).toEqual(["begin", "settled", "settled", "end"]);
  });

  it("keeps a single wrong cycle whole, with ten before and ten after, and fails", async () => {
    const soak = begin({
      prepare: ({ bench }) => {
        bench.at(20_000, () => bench.flip());
      },
    });
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ verdict: "fail", cause: "completed" });
    const [error, ...more] = eventsOf(soak.journal, "cycle-error");
    const [after] = eventsOf(soak.journal, "cycle-error-after");
    expect(more).toEqual([]);
    expect(error?.before.map(({ cycle }) => cycle)).toEqual(ten((error?.cycle ?? 0) - 10));
    expect(after?.after.map(({ cycle }) => cycle)).toEqual(ten((error?.cycle ?? 0) + 1));
    expect(error?.readings[0]).toMatchObject({ result: "fail", reason: "wrong class" });
    expect(error?.rails.map(({ channel }) => channel)).toContain("plate.board");
    const { soak: folded } = foldJournal(soak.journal.entries);
    expect(folded?.counts).toMatchObject({ wrong: 1, cycles: 60 });
    expect(folded?.kinds).toMatchObject([{ class: "transient", times: 1, cycles: 1 }]);
  });

  it("takes an error that stays for steady, and ends", async () => {
    const soak = begin({
      prepare: ({ bench, clock }) => {
        const forget = (): void => {
          bench.flip();
          bench.at(clock.nowMs() + 500, forget);
        };
        bench.at(20_000, forget);
      },
    });
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ verdict: "fail", cause: "steady error", allProvedOff: true });
    const { soak: folded } = foldJournal(soak.journal.entries);
    expect(folded?.kinds).toMatchObject([{ class: "steady" }]);
  });

  it("does not blame the board for a line that does not move", async () => {
    const soak = begin({
      prepare: ({ bench }) => {
        bench.at(20_010, () => bench.mishaps.stuckLines.set("RESET", "low"));
      },
    });
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ verdict: "void", cause: "line off its level" });
    expect(eventsOf(soak.journal, "cycle-error")).toEqual([]);
    expect(eventsOf(soak.journal, "soak-tally").at(-1)?.counts.unjudged).toBeGreaterThanOrEqual(20);
  });

  it("ends when asked to, with what it counted sealed, and says that it is not finished", async () => {
    const soak = begin();
    await soak.clock.advance(20_000);
    soak.run.stop("person", "key s");
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ verdict: "not tested", cause: "stopped by the person" });
    const { soak: folded } = foldJournal(soak.journal.entries);
    expect(folded?.counts.cycles).toBeGreaterThan(20);
    expect(folded?.legs.at(-1)?.end).toMatchObject({ provedOff: true });
  });
});

describe("power cycles and standing still", () => {
  it("powers down and up again as its sequence says, proved each time, counting on", async () => {
    const soak = begin({ change: { power: { onMs: 12_000, offMs: 5000 } } });
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ verdict: "pass", cause: "completed" });
    const legs = eventsOf(soak.journal, "leg-begun");
    expect(legs.map(({ why }) => why)).toEqual(["first", "power cycle", "power cycle"]);
    expect(legs[1]?.gapMs).toBeGreaterThanOrEqual(5000);
    expect(eventsOf(soak.journal, "leg-ended").map(({ provedOff }) => provedOff)).toEqual([
      true,
      true,
      true,
    ]);
    expect(eventsOf(soak.journal, "soak-tally").at(-1)?.counts.powerCycles).toBe(3);
    expect(eventsOf(soak.journal, "run-opened")).toHaveLength(1);
    expect(eventsOf(soak.journal, "run-closed")).toHaveLength(1);
    expect(isOk(soak.bench)).toEqual([]);
  });

  it("ends at once when asked to while power is off between two legs", async () => {
    const soak = begin({ change: { power: { onMs: 8000, offMs: 60_000 } } });
    while (soak.journal.events.at(-1)?.kind !== "phase" || !isOff(soak.journal)) {
      await soak.clock.advance(500);
    }
    soak.run.stop("person", "key s");
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ cause: "stopped by the person", allProvedOff: true });
    expect(eventsOf(soak.journal, "leg-begun")).toHaveLength(1);
  });

  it("reads the first cycle after standing still as a set of its own", async () => {
    const soak = begin({ change: { dwell: { everyMs: 8000, forMs: 6000 } } });
    await untilEnd(soak);
    const sets = eventsOf(soak.journal, "soak-readings");
    expect(sets.filter(({ moment }) => moment === "first on").length).toBeGreaterThanOrEqual(2);
    expect(eventsOf(soak.journal, "phase").map(({ phase }) => phase)).toContain("dwelling");
  });
});

function isOff({ events }: MemoryJournal): boolean {
  const last = events.at(-1);
  return last?.kind === "phase" && last.phase === "power off";
}

describe("going on", () => {
  const lostAt = 20_000;
  const losing: Given["prepare"] = ({ bench }) => bench.at(lostAt, () => bench.loseLink());

  it("ends for good on a lost link when nothing else was chosen", async () => {
    const soak = begin({ prepare: losing });
    expect(await untilEnd(soak)).toMatchObject({ cause: "link lost", verdict: "void" });
    expect(eventsOf(soak.journal, "leg-begun")).toHaveLength(1);
  });

  it("goes on after a lost link by a choice made beforehand, with a warm-up of its own", async () => {
    const again = (isTripped: boolean): Given => ({
      prepare: losing,
      change: { goOn: ["link lost"] },
      options: { findAgain: async () => ({ bench: soakBench(), isTripped }) },
    });
    let soak = begin();
    const soakBench = () => new ScriptedBench({ plan, clock: soak.clock });
    soak = begin(again(false));
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ cause: "completed", verdict: "pass", allProvedOff: true });
    const legs = eventsOf(soak.journal, "leg-begun");
    expect(legs.map(({ why }) => why)).toEqual(["first", "link lost"]);
    expect(eventsOf(soak.journal, "warm-up-ended")).toHaveLength(2);
    // Counted once each: the totals of the second leg begin where the first left them.
    const tallies = eventsOf(soak.journal, "soak-tally").map(({ counts }) => counts.cycles);
    expect(tallies).toEqual([...tallies].sort((a, b) => a - b));
    expect(tallies.at(-1)).toBe(60);
  });

  it("never goes on after a trip, whatever was chosen", async () => {
    const soak = begin({
      prepare: ({ bench }) => bench.at(lostAt, () => bench.trip("plate.board")),
      change: { goOn: ["link lost", "host crash", "mains cut"] },
      options: {
        findAgain: () => {
          throw new Error("nobody may look for it");
        },
      },
    });
    expect(await untilEnd(soak)).toMatchObject({ cause: "trip", verdict: "void" });
    expect(eventsOf(soak.journal, "leg-begun")).toHaveLength(1);
  });

  it("never goes on when the controller found again has a trip latched", async () => {
    const soak = begin({
      prepare: losing,
      change: { goOn: ["link lost"] },
      options: {
        findAgain: async () => ({
          bench: new ScriptedBench({ plan, clock: createVirtualClock() }),
          isTripped: true,
        }),
      },
    });
    expect(await untilEnd(soak)).toMatchObject({ cause: "trip" });
  });

  it("says so and ends when the controller is not found again", async () => {
    const soak = begin({
      prepare: losing,
      change: { goOn: ["link lost"] },
      options: { findAgain: () => Promise.reject(new Error("no port came back")) },
    });
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ cause: "link lost", allProvedOff: false });
    expect(end.detail).toContain("no port came back");
  });
});

describe("a journal that cannot be written", () => {
  it("ends the soak safely, and what was not sealed is not counted", async () => {
    const soak = begin({
      prepare: ({ journal }) => {
        journal.fullFromMs = 25_000;
      },
    });
    const end = await untilEnd(soak);
    expect(end).toMatchObject({ cause: "journal fault", allProvedOff: true });
    const sealed = eventsOf(soak.journal, "soak-tally").at(-1)?.counts.cycles ?? 0;
    expect(foldJournal(soak.journal.entries).soak?.counts.cycles).toBe(sealed);
  });
});
