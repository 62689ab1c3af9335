/** Readings with the heaters low, on the scripted bench: their order, and every way out of them. */
import { describe, expect, it } from "vitest";
import type { SettableSupply } from "../../src/bench/settable-supply.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunEvent } from "../../src/events/events.ts";
import type { SoakOrder } from "../../src/events/soak.ts";
import { foldJournal } from "../../src/journal/fold.ts";
import { startSoak } from "../../src/run/soak-run.ts";
import type { RunEnd } from "../../src/run/start-run.ts";
import { latchPlan } from "./latch-plan.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { type BoardScript, ScriptedBench } from "./scripted-bench.ts";

const plan = latchPlan();
const nominalV = 12.6;

const step = (index: number, set: SoakOrder["cycle"][number]["set"], q: "low" | "high") => ({
  kind: "pattern" as const,
  index,
  name: `step ${index}`,
  set,
  settleMs: 50,
  expect: { Q: q, QN: q === "low" ? ("high" as const) : ("low" as const) },
  note: null,
});

const order: SoakOrder = {
  cycle: [
    step(0, { SET: "high" }, "high"),
    step(1, { SET: "low", RESET: "high" }, "low"),
    step(2, { RESET: "low" }, "low"),
  ],
  forMs: 30_000,
  cycles: null,
  errorsMax: null,
  everyMs: 500,
  readEveryMs: 10_000,
  power: null,
  dwell: null,
  heaterLow: { percent: 10, settleMs: 45_000 },
  goOn: [],
  attendance: "attended",
};

function begin({
  supply = (bench) => following(bench),
  board = {},
  change = {},
  resumed = null,
}: {
  readonly supply?: (bench: ScriptedBench) => SettableSupply | null;
  readonly board?: Partial<BoardScript>;
  readonly change?: Partial<SoakOrder>;
  readonly resumed?: Parameters<typeof startSoak>[0]["resumed"];
} = {}) {
  const clock = createVirtualClock();
  const bench = new ScriptedBench({ plan, clock, board });
  const journal = new MemoryJournal(clock);
  const heater = supply(bench);
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
    resumed,
    findAgain: null,
    supplies: heater === null ? [] : [heater],
  });
  return { bench, clock, journal, run };
}

function following(bench: ScriptedBench): SettableSupply {
  return {
    rail: "heater",
    setShare: async (share) => bench.setSupply("heater", share * nominalV),
  };
}

async function untilEnd({ clock, run }: ReturnType<typeof begin>): Promise<RunEnd> {
  let end: RunEnd | null = null;
  void run.done.then((reached) => {
    end = reached;
  });
  for (let waitedMs = 0; waitedMs < 600_000; waitedMs += 500) {
    await clock.advance(500);
    if (end !== null) return end;
  }
  throw new Error("The soak did not end.");
}

async function untilLow({ clock, journal }: ReturnType<typeof begin>): Promise<void> {
  while (sharesOf(journal).at(-1) !== 0.9) await clock.advance(500);
  await clock.advance(10_000);
}

function eventsOf<Kind extends RunEvent["kind"]>(journal: MemoryJournal, kind: Kind) {
  return journal.events.filter(
    (event): event is Extract<RunEvent, { kind: Kind }> => event.kind === kind,
  );
}

const sharesOf = (journal: MemoryJournal) =>
  eventsOf(journal, "window-moved").map(({ share }) => share);
const remarksOf = (journal: MemoryJournal) =>
  eventsOf(journal, "remark")
    .map(({ text }) => text)
    .join("\n");

describe("readings with the heaters low", () => {
  it("are taken once before the cycles and once after them, between sets at nominal volts", async () => {
    const soak = begin();
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    const sets = eventsOf(soak.journal, "soak-readings").map(({ moment }) => moment);
    expect(sets.slice(0, 2)).toEqual(["begin", "heater low"]);
    expect(sets.slice(-2)).toEqual(["heater low", "end"]);
    expect(sets.filter((one) => one === "heater low")).toHaveLength(2);
    expect(soak.bench.violations).toEqual([]);
  });

  it("read the rail 10 % down, and nowhere else", async () => {
    const soak = begin();
    await untilEnd(soak);
    for (const { moment, rails } of eventsOf(soak.journal, "soak-readings")) {
      const volts = rails.find(({ channel }) => channel === "heater.board")?.volts;
      expect(volts).toBeCloseTo(moment === "heater low" ? 0.9 * nominalV : nominalV, 0);
    }
  });

  it("count no cycle and no cycling time, but hours on", async () => {
    const soak = begin();
    await untilEnd(soak);
    const { counts } = eventsOf(soak.journal, "soak-tally").at(-1) ?? {};
    expect(counts?.cyclingMs).toBeGreaterThanOrEqual(30_000);
    expect(counts?.cyclingMs).toBeLessThan(35_000);
    // Twice 45 s down and twice 45 s for coming back.
    expect(counts?.boardMs).toBeGreaterThan(30_000 + 4 * 45_000);
  });

  it("leave the verdict alone, whatever the board does meanwhile", async () => {
    const soak = begin();
    soak.bench.weakenBelow(12, 16);
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    const lows = eventsOf(soak.journal, "soak-readings").filter(
      ({ moment }) => moment === "heater low",
    );
    expect(
      lows
        .flatMap(({ steps }) => steps.flatMap(({ readings }) => readings))
        .some(({ result }) => result !== "pass"),
    ).toBe(true);
  });

  it("hold the rail to a window as wide as its own, and to its own again after", async () => {
    const soak = begin();
    await untilEnd(soak);
    const heater = plan.rails.find(({ rail }) => rail === "heater");
    const own = heater?.window ?? { lowV: 0, highV: 0 };
    const windows = eventsOf(soak.journal, "window-moved").map(({ window }) => window);
    const both = { lowV: own.lowV - 1.26, highV: own.highV };
    const low = { lowV: own.lowV - 1.26, highV: own.highV - 1.26 };
    for (const [index, expected] of [both, low, both, own].entries()) {
      expect(windows[index]?.lowV).toBeCloseTo(expected.lowV, 6);
      expect(windows[index]?.highV).toBeCloseTo(expected.highV, 6);
    }
    expect(foldJournal(soak.journal.entries).rails.some(({ movedWindow }) => movedWindow)).toBe(
      false,
    );
  });
});

describe("a supply that is slow", () => {
  it("to answer, and quick to move, is held to both windows until it has", async () => {
    const soak = begin({
      supply: (bench) => ({
        rail: "heater",
        setShare: async (share) => {
          bench.setSupply("heater", share * nominalV);
          await soak.clock.delay(1000);
        },
      }),
    });
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    const moments = eventsOf(soak.journal, "soak-readings").map(({ moment }) => moment);
    expect(moments.filter((one) => one === "heater low")).toHaveLength(2);
  });
});

describe("heaters that stand low", () => {
  it("come down in order when a person stops, and the supply goes back to its volts", async () => {
    const shares: number[] = [];
    const soak = begin({
      supply: (bench) => ({
        rail: "heater",
        setShare: async (share) => {
          shares.push(share);
          bench.setSupply("heater", share * nominalV);
        },
      }),
    });
    await untilLow(soak);
    soak.run.stop("person", "key s");
    expect(await untilEnd(soak)).toMatchObject({
      cause: "stopped by the person",
      allProvedOff: true,
    });
    expect(shares).toEqual([0.9, 1]);
    expect(soak.bench.violations).toEqual([]);
  });

  it.each([
    ["up to its own volts", nominalV],
    ["further down", 9.5],
  ])("end the run when the rail strays %s", async (_, volts) => {
    const soak = begin();
    await untilLow(soak);
    soak.bench.setSupply("heater", volts);
    expect(await untilEnd(soak)).toMatchObject({ cause: "trip", allProvedOff: true });
  });
});

describe("a soak that goes on", () => {
  /** The journal of one whose program died in such a state. */
  async function diedWhen(isSo: (soak: ReturnType<typeof begin>) => boolean) {
    const soak = begin();
    while (!isSo(soak)) await soak.clock.advance(500);
    const folded = foldJournal(soak.journal.entries.slice());
    return { folded, why: "host crash" as const, gapMs: 1000, tornBytes: 0 };
  }

  const momentsOf = (soak: ReturnType<typeof begin>) =>
    eventsOf(soak.journal, "soak-readings").map(({ moment }) => moment);

  it("raises the heaters' supply first where it died while they stood low, and reads them low after all", async () => {
    const resumed = await diedWhen(({ journal }) => sharesOf(journal).at(-1) === 0.9);
    const soak = begin({
      resumed,
      supply: (bench) => {
        bench.setSupply("heater", 0.9 * nominalV);
        return following(bench);
      },
    });
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    expect(momentsOf(soak).slice(0, 2)).toEqual(["begin", "heater low"]);
    expect(momentsOf(soak).filter((one) => one === "heater low")).toHaveLength(2);
  });

  it("does not read them low a second time where that was done", async () => {
    const resumed = await diedWhen((died) => momentsOf(died).includes("settled"));
    const soak = begin({ resumed });
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    expect(momentsOf(soak)[1]).not.toBe("heater low");
    expect(momentsOf(soak).filter((one) => one === "heater low")).toHaveLength(1);
  });

  it("says so where that supply does not answer, and takes the rail as it reads", async () => {
    const resumed = await diedWhen((died) => momentsOf(died).includes("settled"));
    const never = new Promise<void>(() => undefined);
    const soak = begin({
      resumed,
      supply: (bench) => {
        bench.setSupply("heater", 0.9 * nominalV);
        return { rail: "heater", setShare: () => never };
      },
    });
    expect(await untilEnd(soak)).toMatchObject({ cause: "supply refused", allProvedOff: true });
    expect(remarksOf(soak.journal)).toMatch(/heater supply did not go back to its volts/);
  });
});

describe("a supply that cannot be lowered", () => {
  it("is said, and the soak goes on without", async () => {
    const soak = begin({ supply: () => null });
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    expect(remarksOf(soak.journal)).toMatch(/10 % low were not made: no supply here/);
    expect(sharesOf(soak.journal)).toEqual([]);
  });

  it("is said when it refuses", async () => {
    const soak = begin({
      supply: () => ({
        rail: "heater",
        setShare: async (share) => {
          if (share < 1) throw new Error("locked at the front panel");
        },
      }),
    });
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    expect(remarksOf(soak.journal)).toMatch(/not made: .*locked at the front panel/);
  });

  it("is said when it does not follow, with what was read", async () => {
    const soak = begin({ supply: () => ({ rail: "heater", setShare: () => Promise.resolve() }) });
    expect(await untilEnd(soak)).toMatchObject({ cause: "completed", verdict: "pass" });
    expect(remarksOf(soak.journal)).toMatch(
      /not made: heater\.board reads 12\.\d+ V, expected 10\./,
    );
    const sets = eventsOf(soak.journal, "soak-readings").map(({ moment }) => moment);
    expect(sets).not.toContain("heater low");
  });
});
