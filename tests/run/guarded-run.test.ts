/** Runs whose rig knows how well it reads: its reference, its common, the four results, light holds. */
import { describe, expect, it } from "vitest";
import type { HoldStep, Plan, PlannedChannel } from "../../src/events/plan.ts";
import { latchPlan } from "./latch-plan.ts";
import { eventsOf, rehearse, untilEnd } from "./rehearse.ts";

const straight = { topOhm: 1000, bottomOhm: 1e9, pullUpOhm: null };
const reference: PlannedChannel = {
  name: "reference",
  number: 15,
  reads: { kind: "reference", volts: 2.5, part: 0.004 },
  divider: straight,
  referenceV: 5,
};
const ground: PlannedChannel = {
  name: "ground",
  number: 16,
  reads: { kind: "ground" },
  divider: { topOhm: 10_000, bottomOhm: 100_000, pullUpOhm: 100_000 },
  referenceV: 5,
};

function guardedPlan(
  extra: readonly PlannedChannel[] = [reference],
  change: Partial<Plan> = {},
): Plan {
  const plan = latchPlan();
  return {
    ...plan,
    rule: { name: "guarded", evaluated: true, remarks: [] },
    accuracy: {
      resistorPart: 0.01,
      referencePart: 0.05,
      linearitySteps: 2,
      perK: 0.0001,
      spanK: 10,
    },
    channels: [
      ...plan.channels.map((channel) =>
        channel.reads.kind === "net"
          ? { ...channel, source: { lowOhm: 10_000, highOhm: 40_000, part: 0.1 } }
          : channel,
      ),
      ...extra,
    ],
    ...change,
  };
}

describe("a guarded run", () => {
  it("passes a board that is well inside, with U beside every judged net", async () => {
    const rehearsal = rehearse({ plan: guardedPlan() });
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    const nets = eventsOf(rehearsal, "reading").flatMap(({ readings }) =>
      readings.filter(({ channel }) => channel === "Q" || channel === "QN"),
    );
    expect(nets.length).toBeGreaterThan(3);
    for (const { expandedV } of nets) expect(expandedV).toBeGreaterThan(0.1);
  });

  it("tells once for each net and class what U is made of", async () => {
    const rehearsal = rehearse({ plan: guardedPlan() });
    await untilEnd(rehearsal);
    const told = eventsOf(rehearsal, "budget").map(
      ({ budget }) => `${budget.channel} ${budget.class}`,
    );
    expect(told.sort()).toEqual(["Q high", "Q low", "QN high", "QN low"]);
  });

  it("frees a reading of what the divider takes", async () => {
    const rehearsal = rehearse({ plan: guardedPlan() });
    await untilEnd(rehearsal);
    const high = eventsOf(rehearsal, "budget").find(
      ({ budget }) => budget.channel === "QN" && budget.class === "high",
    );
    // The script gives 43 V at the lead: 43 x (1 + 40 k / 1100 k) is 44.56 V, within a step of 54 mV.
    expect(high?.budget.volts).toBeGreaterThan(44.5);
    expect(high?.budget.volts).toBeLessThan(44.65);
  });

  it("goes on past a low nearer to its limit than U, to a conditional pass", async () => {
    const rehearsal = rehearse({ plan: guardedPlan(), board: { weakLowV: { Q: 13.75 } } });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "conditional pass", cause: "completed" });
    const results = new Set(eventsOf(rehearsal, "step-ended").map(({ result }) => result));
    expect(results).toEqual(new Set(["conditional pass"]));
    expect(rehearsal.run.snapshot().firstMiss).toBeNull();
  });

  it("goes on past a low beyond its limit by less than U, to a conditional fail", async () => {
    const rehearsal = rehearse({ plan: guardedPlan(), board: { weakLowV: { Q: 13.95 } } });
    expect(await untilEnd(rehearsal)).toMatchObject({
      verdict: "conditional fail",
      cause: "completed",
    });
  });

  it("stops at a low beyond its limit by more", async () => {
    const rehearsal = rehearse({ plan: guardedPlan(), board: { weakLowV: { Q: 15 } } });
    expect(await untilEnd(rehearsal)).toMatchObject({ verdict: "fail", cause: "first fail" });
  });

  it("accepts simply where the board file says so, with U beside it", async () => {
    const rule = { name: "simple", evaluated: true, remarks: [] } as const;
    const plan = guardedPlan([reference], { rule });
    const rehearsal = rehearse({ plan, board: { weakLowV: { Q: 13.75 } } });
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    expect(eventsOf(rehearsal, "run-opened")[0]?.rule).toContain("simple acceptance");
    expect(eventsOf(rehearsal, "budget").length).toBeGreaterThan(0);
  });
});

describe("the converter's reference", () => {
  it("5 % high is followed where a known source tells it: volts stay what they are", async () => {
    const rehearsal = rehearse({
      plan: guardedPlan(),
      prepare: ({ bench }) => {
        bench.mishaps.referenceV = 5.25;
      },
    });
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    const source = eventsOf(rehearsal, "gate").find(({ rail }) => rail === "plate");
    expect(source?.reading.volts).toBeGreaterThan(47.7);
    expect(source?.reading.volts).toBeLessThan(48.3);
  });

  it("5 % high without one makes a supply read low, and it is refused", async () => {
    const rehearsal = rehearse({
      plan: guardedPlan([]),
      prepare: ({ bench }) => {
        bench.mishaps.referenceV = 5.35;
      },
    });
    expect(await untilEnd(rehearsal)).toMatchObject({ verdict: "void", cause: "supply refused" });
  });

  it("whose source cannot be read leaves no reading to be believed, and nothing is switched", async () => {
    const rehearsal = rehearse({
      plan: guardedPlan(),
      prepare: ({ bench }) => bench.mishaps.openLeads.add("reference"),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "supply refused" });
    expect(end.detail).toContain("reference doubtful");
    expect(rehearsal.bench.requests.filter((one) => one.startsWith("switchRail"))).not.toContain(
      "switchRail heater on",
    );
  });

  it("that moves during a run is said once", async () => {
    const rehearsal = rehearse({
      plan: guardedPlan(),
      prepare: ({ bench, journal }) =>
        journal.subscribe(({ event }) => {
          if (event.kind === "step-begun") bench.mishaps.referenceV = 4.9;
        }),
    });
    await untilEnd(rehearsal);
    const said = eventsOf(rehearsal, "remark").filter(({ text }) =>
      text.includes("reference went"),
    );
    expect(said).toHaveLength(1);
    expect(said[0]?.text).toContain("4.9");
  });
});

describe("the board's common", () => {
  it("above the controller's is taken off every net and told at the end", async () => {
    const rehearsal = rehearse({
      plan: guardedPlan([reference, ground]),
      prepare: ({ bench }) => {
        bench.mishaps.groundV = 0.2;
      },
    });
    await untilEnd(rehearsal);
    const low = eventsOf(rehearsal, "budget").find(
      ({ budget }) => budget.channel === "Q" && budget.class === "low",
    );
    // 9 V of the script, not 9.2, freed of its loading of 10 k / 1100 k.
    expect(low?.budget.volts).toBeGreaterThan(9.02);
    expect(low?.budget.volts).toBeLessThan(9.14);
    const text = eventsOf(rehearsal, "remark")
      .map((one) => one.text)
      .join("\n");
    expect(text).toMatch(/common stood at .* mV with heaters on/);
  });
});

describe("a hold read at its ends alone, before one that is read throughout", () => {
  const { steps } = latchPlan();
  const full = steps.at(-1) as HoldStep;
  const light: HoldStep = {
    ...full,
    index: 2,
    name: "Q set, read at its ends",
    light: true,
    readEveryMs: full.forMs,
  };
  const plan = latchPlan({ steps: [...steps.slice(0, 2), light, { ...full, index: 3 }] });

  it("is read twice, and both together say that reading disturbs nothing", async () => {
    const rehearsal = rehearse({ plan });
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    const held = eventsOf(rehearsal, "hold-progress").filter(
      ({ step, part }) => step === 2 && part === "hold",
    );
    expect(held.at(-1)?.readingSets).toBe(2);
    const said = eventsOf(rehearsal, "remark").map(({ text }) => text);
    expect(said.filter((text) => text.includes("does not disturb it"))).toHaveLength(1);
  });

  it("tells a latch that reading disturbs from one that does not hold", async () => {
    const rehearsal = rehearse({
      plan,
      prepare: ({ bench, journal }) => {
        let throughout = false;
        let sets = 0;
        journal.subscribe(({ event }) => {
          throughout ||= event.kind === "step-begun" && event.step === 3;
        });
        const read = bench.read.bind(bench);
        bench.read = async (names, samples) => {
          const raws = await read(names, samples);
          if (throughout && names.includes("Q")) sets += 1;
          // The third look within a second tips it.
          return sets < 3
            ? raws
            : raws.map((raw) =>
                raw.channel === "Q" ? { ...raw, sum: raw.count * 180, min: 180, max: 180 } : raw,
              );
        };
      },
    });
    expect((await untilEnd(rehearsal)).verdict).toBe("fail");
    const said = eventsOf(rehearsal, "remark").map(({ text }) => text);
    expect(said.some((text) => text.includes("Reading may disturb it"))).toBe(true);
  });
});
