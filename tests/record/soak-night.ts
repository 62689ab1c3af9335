/** The journal of a night that never was: five legs of two hours, a cycle a second, errors where told. */
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import type { PatternStep, Plan } from "../../src/events/plan.ts";
import type { SoakOrder } from "../../src/events/soak.ts";
import { NO_COUNTS } from "../../src/journal/soak-snapshot.ts";

const HOUR_MS = 3_600_000;
export const MINUTE_MS = 60_000;
const LEG_MS = 2 * HOUR_MS;
const WALL = "2026-05-02T22:00:00.000+00:00";

function step(index: number, name: string, set: PatternStep["set"]): PatternStep {
  return { kind: "pattern", index, name, set, settleMs: 20, expect: { q: "low" }, note: null };
}

export const order: SoakOrder = {
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

export const rails: Plan["rails"] = [
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

/** A tally a minute and a full set every five, leg by leg. */
export function night(
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

/** As they would be sealed. */
export function entriesOf(legs: readonly (readonly RunEvent[])[]): JournalEntry[] {
  return legs.flatMap((events, leg) =>
    events.map((event, at) => {
      const ms = leg * (LEG_MS + MINUTE_MS) + Math.round((LEG_MS * at) / events.length);
      return { n: at, ms, before: "", event };
    }),
  );
}
