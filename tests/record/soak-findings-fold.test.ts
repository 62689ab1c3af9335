import { describe, expect, it } from "vitest";
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import type { PatternStep, Plan } from "../../src/events/plan.ts";
import type { SoakOrder } from "../../src/events/soak.ts";
import type { FoldedRun } from "../../src/journal/account.ts";
import { foldEvent, initialSnapshot } from "../../src/journal/fold.ts";
import { NO_COUNTS } from "../../src/journal/soak-snapshot.ts";
import { SoakFindingsFold } from "../../src/record/soak-findings-fold.ts";

const HOUR_MS = 3_600_000;
const MINUTE_MS = 60_000;
const LEG_MS = 2 * HOUR_MS;
const WALL = "2026-05-02T22:00:00.000+00:00";

function step(index: number, name: string, set: PatternStep["set"]): PatternStep {
  return { kind: "pattern", index, name, set, settleMs: 20, expect: { q: "low" }, note: null };
}

const order: SoakOrder = {
  cycle: [
    step(0, "set", { s: "high", r: "low" }),
    step(1, "hold", { s: "low", r: "low" }),
    step(2, "reset", { r: "high" }),
    step(3, "hold", { r: "low" }),
  ],
  forMs: 10 * HOUR_MS,
  cycles: null,
  errorsMax: null,
  everyMs: 1000,
  readEveryMs: 5 * MINUTE_MS,
  power: { onMs: LEG_MS, offMs: MINUTE_MS },
  dwell: null,
  goOn: [],
  attendance: "attended",
};

const rails: Plan["rails"] = [
  {
    rail: "plate",
    output: 2,
    nominalV: 24,
    window: { lowV: 22.8, highV: 25.2 },
    ceilingV: 26,
    safeV: 1,
    sourceChannel: "plate source",
    boardChannel: "plate board",
    riseMsMax: 500,
    fallMsMax: 2000,
  },
];

const reading = (channel: string, volts: number | null) => ({
  channel,
  volts,
  noReading: null,
  sum: 0,
  count: 1,
  min: 0,
  max: 0,
});

/** A night of five legs of two hours, a tally a minute, a set every five, and errors where told. */
function night(
  errorMinutes: readonly { leg: number; minute: number; step: number }[],
): RunEvent[][] {
  return Array.from({ length: 5 }, (_, leg) => {
    const begun: RunEvent = {
      kind: "leg-begun",
      leg: leg + 1,
      why: leg === 0 ? "first" : "power cycle",
      wall: WALL,
      gapMs: null,
      tornBytes: 0,
    };
    const plate: RunEvent = { kind: "rail-switched", rail: "plate", on: true };
    const minutes = Array.from({ length: 120 }, (_, minute): RunEvent[] => {
      const cycles = 60 * (120 * leg + minute + 1);
      const wrong = errorMinutes.filter(
        (one) => one.leg < leg || (one.leg === leg && one.minute <= minute),
      ).length;
      const errors = errorMinutes
        .filter((one) => one.leg === leg && one.minute === minute)
        .map(
          (one): RunEvent => ({
            kind: "cycle-error",
            error: errorMinutes.indexOf(one) + 1,
            cycle: cycles - 30,
            step: one.step,
            onMs: minute * MINUTE_MS,
            wall: WALL,
            readings: [],
            own: { cycle: cycles - 30, ms: 0, volts: [] },
            before: [],
            rails: [],
            referenceV: null,
            celsius: null,
            repeats: 0,
            moved: [],
          }),
        );
      const tally: RunEvent = {
        kind: "soak-tally",
        counts: {
          ...NO_COUNTS,
          cycles,
          wrong,
          powerCycles: leg + 1,
          cyclingMs: cycles * 1000,
        },
        spans: [],
      };
      const set: RunEvent = {
        kind: "soak-readings",
        set: 1,
        cycle: cycles,
        moment: "settled",
        onMs: minute * MINUTE_MS,
        steps: [],
        rails: [reading("plate board", 24 + leg / 10), reading("plate mA", 12)],
        referenceV: null,
        celsius: null,
      };
      return [...errors, tally, ...(minute % 5 === 4 ? [set] : [])];
    });
    const ended: RunEvent = {
      kind: "leg-ended",
      leg: leg + 1,
      cause: "power cycle",
      detail: "",
      provedOff: true,
    };
    return [[begun, plate], ...minutes, [ended]].flat();
  });
}

function findingsOf(legs: readonly (readonly RunEvent[])[], cause: FoldedRun["cause"]) {
  const fold = new SoakFindingsFold({ rails }, order);
  let run: FoldedRun = {
    ...initialSnapshot(),
    soak: {
      order,
      counts: NO_COUNTS,
      legs: [],
      kept: 0,
      kinds: [],
      sets: 0,
      newestSet: null,
      clockStepsMs: [],
    },
  };
  legs.forEach((events, leg) => {
    events.forEach((event, at) => {
      const ms = leg * (LEG_MS + MINUTE_MS) + Math.round((LEG_MS * at) / events.length);
      const entry: JournalEntry = { n: at, ms, before: "", event };
      fold.take(entry);
      run = foldEvent(run, entry);
    });
  });
  if (run.soak === undefined) throw new Error("The fold lost its soak.");
  return fold.findings(run.soak, { unit: "LV-07", cause });
}

describe("findings of a soak's journal", () => {
  it("claims of a clean night what was counted, under what was seen", () => {
    const { claim, clusters } = findingsOf(night([]), "completed");
    expect(claim?.counted).toEqual({
      cycles: 36_000,
      errors: 0,
      unjudged: 0,
      hours: 10,
      stop: "planned end",
    });
    expect(claim?.conditions).toEqual({
      unit: "LV-07",
      steps: 4,
      powerCycles: 5,
      celsius: null,
      rails: [{ rail: "plate", lowV: 24, highV: 24.4 }],
      gaps: 0,
    });
    // Of none in n: 1 - 0.05^(1/n).
    expect(claim?.byCycle.upper).toBeCloseTo(1 - 0.05 ** (1 / 36_000), 10);
    expect(clusters).toMatchObject({ errors: 0, findings: [] });
  });

  it("finds the step, by a name of its own, and the time since power-up", () => {
    const errors = [0, 1, 2, 3, 4].flatMap((leg) => [
      { leg, minute: 2, step: 3 },
      { leg, minute: 11, step: 3 },
    ]);
    const { claim, clusters } = findingsOf(night(errors), "completed");
    expect(claim?.counted.errors).toBe(10);
    const places = clusters.findings.map(({ question, place }) => ({ question, place }));
    expect(places).toContainEqual({
      question: "step",
      place: { kind: "name", name: "hold (4)", moved: ["r"] },
    });
    const early = places.find(({ question }) => question === "time on power")?.place;
    expect(early).toMatchObject({ kind: "span", low: null });
    // A sixth of the cycles in each part, to the nearest five minutes.
    expect(early).toHaveProperty("high", expect.closeTo(20 * MINUTE_MS, -6));
    expect(clusters.askedOf).toContain("line moved");
    expect(clusters.notAsked).toContainEqual({ question: "temperature", why: "not measured" });
  });

  it("knows which lines move for a step once the cycle goes round", () => {
    const errors = Array.from({ length: 9 }, (_, at) => ({
      leg: at % 5,
      minute: 13 * at,
      step: 0,
    }));
    const [finding] = findingsOf(night(errors), "completed").clusters.findings;
    expect(finding?.place).toEqual({ kind: "name", name: "set", moved: ["s"] });
  });

  it("says what ended it", () => {
    const stopOf = (cause: FoldedRun["cause"]) => findingsOf(night([]), cause).claim?.counted.stop;
    expect(stopOf("steady error")).toBe("errors");
    expect(stopOf("link lost")).toBe("cut short");
    expect(stopOf(null)).toBe("cut short");
  });

  it("claims nothing before a cycle is sealed", () => {
    expect(findingsOf([], null)).toMatchObject({ claim: null, clusters: { errors: 0 } });
  });
});
