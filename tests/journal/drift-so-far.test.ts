/** What a soak shows of drift as it stands: taught, assessed once a set, and bounded while rails are on. */
import { describe, expect, it } from "vitest";
import type { FoldedRun } from "../../src/journal/account.ts";
import { driftSoFar } from "../../src/journal/drift-so-far.ts";
import { foldEvent, initialSnapshot } from "../../src/journal/fold.ts";
import type { MadeNight } from "../verdict/drift/made-night.ts";
import { driftingSoak, type SoakedUnit, sheetWith } from "./drifting-soak.ts";
import type { TimedEvent } from "./soak-events.ts";

function folded(events: readonly TimedEvent[]): FoldedRun {
  return events.reduce(
    (run, { ms, event }, n) => foldEvent(run, { n, ms, before: "", event }),
    initialSnapshot(),
  );
}

function soaked(night: MadeNight, more: SoakedUnit = {}): FoldedRun {
  return folded(driftingSoak(night, more));
}

describe("driftSoFar", () => {
  it("is assessed once for a set, however often it is asked for, and anew for the next set", () => {
    const events = driftingSoak({ seed: "memo", hours: 6 }, { isOver: false });
    const before = folded(events);
    const report = driftSoFar(before);
    expect(report).not.toBeNull();
    expect(driftSoFar(before)).toBe(report);
    const tick = { ms: 6 * 3_600_000 + 1, event: { kind: "watch", readings: [] } } as const;
    expect(driftSoFar(folded([...events, tick]))).not.toBe(report);
    const after = foldEvent(before, { n: events.length, before: "", ...tick });
    expect(driftSoFar(after)).toBe(report);
  });

  it("judges the whole run anew once it is over: no further look is to come", () => {
    const night: MadeNight = { seed: "last look", hours: 6 };
    const live = driftSoFar(soaked(night, { isOver: false }));
    const over = driftSoFar(soaked(night));
    const limit = (report: typeof live) => report?.levels[0]?.limitSd ?? 0;
    expect(over?.hours).toBe(live?.hours);
    expect(limit(live)).toBeGreaterThan(limit(over));
  });

  it("looks at a day of sets at most while it is cycling, and at all of them in the end", () => {
    const night: MadeNight = { seed: "long", hours: 30, setsPerHour: 12 };
    const live = driftSoFar(soaked(night, { isOver: false }));
    const over = driftSoFar(soaked(night));
    expect(live?.sets).toBeLessThan(288);
    expect(over?.sets).toBeGreaterThan(340);
    expect(live?.hours).toBeCloseTo(over?.hours ?? 0, 0);
  });

  it("is taught by what the journal says was known, and names the tube's serial", () => {
    const untaught = driftSoFar(soaked({ seed: "first", unit: "x" }));
    if (untaught === null) throw new Error("nothing was assessed");
    const taught = { newest: "first", history: untaught.learned };
    const [alone, with1] = [{}, { taught, sheet: sheetWith("LV-T031") }].map((more) =>
      driftSoFar(soaked({ seed: "second", unit: "x" }, more)),
    );
    expect(with1?.learned.runs).toBe(2);
    expect(alone?.learned.runs).toBe(1);
    expect(with1?.levels[0]?.smallestV).toBeLessThan(alone?.levels[0]?.smallestV ?? 0);
    expect(with1?.serials).toEqual({ V1: "LV-T031" });
  });

  it("is null before the first set", () => {
    const events = driftingSoak({ seed: "none" });
    expect(driftSoFar(folded(events.slice(0, 3)))).toBeNull();
    expect(driftSoFar(initialSnapshot())).toBeNull();
  });
});
