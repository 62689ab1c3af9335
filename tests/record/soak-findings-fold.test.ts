import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import type { FoldedRun } from "../../src/journal/account.ts";
import { foldEvent, initialSnapshot } from "../../src/journal/fold.ts";
import { NO_COUNTS } from "../../src/journal/soak-snapshot.ts";
import { SoakFindingsFold } from "../../src/record/soak-findings-fold.ts";
import { entriesOf, MINUTE_MS, night, order, rails } from "./soak-night.ts";

function findingsOf(legs: readonly (readonly RunEvent[])[], cause: FoldedRun["cause"]) {
  const fold = new SoakFindingsFold({ rails }, order);
  let run: FoldedRun = {
    ...initialSnapshot(),
    soak: {
      order,
      history: null,
      counts: NO_COUNTS,
      legs: [],
      kept: 0,
      kinds: [],
      errors: [],
      driftSets: [],
      tallies: 0,
      sets: 0,
      newestSet: null,
      clockStepsMs: [],
    },
  };
  for (const entry of entriesOf(legs)) {
    fold.take(entry);
    run = foldEvent(run, entry);
  }
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

  it("claims nothing under rails that stood low for a reading of their own", () => {
    const [first = [], ...others] = night([]);
    const cooler = first.map((event) =>
      event.kind === "soak-readings" && event.onMs === 4 * MINUTE_MS
        ? {
            ...event,
            moment: "heater low" as const,
            rails: event.rails.map((one) => ({ ...one, volts: 21 })),
          }
        : event,
    );
    const { claim } = findingsOf([cooler, ...others], "completed");
    expect(claim?.conditions.rails).toEqual([{ rail: "plate", lowV: 24, highV: 24.4 }]);
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
