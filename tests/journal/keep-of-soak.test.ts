/** What is kept whole of a soak stays bounded, and the first and the newest are never what goes. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { SoakEvent } from "../../src/events/soak.ts";
import { withAfter, withDriftSet, withError } from "../../src/journal/keep-of-soak.ts";
import type { KeptError, SoakSnapshot } from "../../src/journal/soak-snapshot.ts";

type Wrong = Extract<SoakEvent, { kind: "cycle-error" }>;
type FullSet = Extract<SoakEvent, { kind: "soak-readings" }>;

function wrong(error: number): Wrong {
  return {
    kind: "cycle-error",
    error,
    cycle: error,
    step: 0,
    onMs: 0,
    wall: "2026-05-02T22:00:00.000+00:00",
    readings: [],
    own: { cycle: error, ms: 0, volts: [] },
    before: [],
    rails: [],
    referenceV: null,
    celsius: null,
    repeats: 0,
    moved: [],
  };
}

function kept(firsts: readonly boolean[]): readonly KeptError[] {
  return firsts.reduce<readonly KeptError[]>(
    (errors, isFirst, at) => withError(errors, { ms: at, isFirst, event: wrong(at + 1) }),
    [],
  );
}

const numbers = (errors: readonly KeptError[]) => errors.map(({ event }) => event.error);

describe("wrong cycles kept to be looked at", () => {
  it("are at most 60 in their order, with the newest 20 and the first of 40 kinds, whatever comes", () => {
    fc.assert(
      fc.property(fc.array(fc.boolean(), { maxLength: 200 }), (firsts) => {
        const errors = kept(firsts);
        const all = firsts.map((isFirst, at) => ({ isFirst, error: at + 1 }));
        const first40 = all.filter(({ isFirst }) => isFirst).slice(0, 40);
        const others = all.filter((one) => !first40.includes(one)).slice(-20);
        const expected = [...first40, ...others].map(({ error }) => error);
        expect(numbers(errors)).toEqual(expected.sort((one, other) => one - other));
        expect(errors.length).toBeLessThanOrEqual(60);
      }),
    );
  });

  it("get what came after them, each its own", () => {
    const errors = kept([true, false]);
    const after = [{ cycle: 3, ms: 9, volts: [] }];
    const told = withAfter(errors, { kind: "cycle-error-after", error: 2, after });
    expect(told.map((one) => one.after)).toEqual([null, after]);
  });
});

describe("full sets kept for drift", () => {
  const HOUR_MS = 3_600_000;

  function fullSet(set: number, onMs: number): FullSet {
    const none = { steps: [], rails: [], referenceV: null, celsius: null };
    return { kind: "soak-readings", set, cycle: set, moment: "settled", onMs, ...none };
  }

  function soak(leg: number, driftSets: SoakSnapshot["driftSets"]) {
    return { driftSets, legs: [{ leg }] } as unknown as SoakSnapshot;
  }

  it("keep those with the heaters low, and the one beside each, however long the soak was", () => {
    let driftSets: SoakSnapshot["driftSets"] = [];
    for (let at = 0; at < 5000; at += 1) {
      const one = fullSet(at + 1, (at * HOUR_MS) / 12);
      const set = at === 1 ? { ...one, moment: "heater low" as const } : one;
      driftSets = withDriftSet(soak(1, driftSets), set);
    }
    expect(driftSets.slice(0, 3).map(({ set }) => set)).toEqual([1, 2, 3]);
  });

  it("are a week of them at most; beyond it every second of the older half goes, none of the newer", () => {
    const sets = Array.from({ length: 5000 }, (_, at) => fullSet(at + 1, (at * HOUR_MS) / 12));
    let driftSets: SoakSnapshot["driftSets"] = [];
    for (const one of sets) driftSets = withDriftSet(soak(1, driftSets), one);
    expect(driftSets.length).toBeLessThanOrEqual(2016);
    expect(driftSets.length).toBeGreaterThan(1008);
    const kept = driftSets.map(({ set }) => set);
    expect(kept.at(-1)).toBe(5000);
    expect(kept).toEqual([...kept].sort((one, other) => one - other));
    const newest = kept.slice(-504);
    expect(newest).toEqual(Array.from({ length: 504 }, (_, at) => 5000 - 503 + at));
    // No stretch is left bare: the oldest are further apart and still all along.
    expect(kept[0]).toBeLessThan(16);
  });

  it("count hours on over all legs", () => {
    const first = withDriftSet(soak(1, []), fullSet(1, 2 * HOUR_MS));
    const second = withDriftSet(soak(2, first), fullSet(2, HOUR_MS));
    expect(second.map(({ leg, onHours, minutesOn }) => [leg, onHours, minutesOn])).toEqual([
      [1, 2, 120],
      [2, 3, 60],
    ]);
  });
});
