/**
 * What the index is told of a run. The events here are sealed 250 ms apart by the clock that writes them,
 * so hours are counted by hand from where rails are switched and levels are seen.
 */
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import { JournalScanner } from "../../src/journal/scan-journal.ts";
import { RunFactsFold } from "../../src/record/run-facts-fold.ts";
import { guardedEvents } from "../journal/guarded-run.ts";
import { closed, healthyEvents, healthyUpTo, judgedNet, opened } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";

const APART_MS = 250;

function factsOf(events: readonly RunEvent[], cut = 0) {
  const { bytes } = writeRun(events);
  const fold = new RunFactsFold();
  const scanner = new JournalScanner((entry) => fold.take(entry));
  scanner.take(bytes.subarray(0, bytes.length - cut));
  const file = { run: "2026-05-02-100000-flasher-latch", bytes: bytes.length };
  return fold.facts(file, scanner.end(), []);
}

const at = (test: (event: RunEvent) => boolean) => healthyEvents.findIndex(test);
const switched = (rail: string, on: boolean) =>
  at((event) => event.kind === "rail-switched" && event.rail === rail && event.on === on);

describe("facts of a run", () => {
  it("say who, what, under which files and how it ended", () => {
    const { run } = factsOf(healthyEvents);
    expect(run).toMatchObject({
      run: "2026-05-02-100000-flasher-latch",
      mode: "proof",
      seal: "closed",
      verdict: "pass",
      cause: "completed",
      unit: "FL-07",
      board: "flasher-latch",
      revision: "A",
      rig: "cabin-bench",
      bench: "emulated",
      uncertainty: "not evaluated",
      boardSha256: "aa".repeat(32),
      rigSha256: null,
      closed: "2026-05-02T10:02:40.000+00:00",
      warmUpMs: 14_400,
      lines: healthyEvents.length,
      lengthMs: healthyEvents.length * APART_MS,
    });
  });

  it("count heater and plate time from switch to switch", () => {
    const { places } = factsOf(healthyEvents);
    const heaterMs = (switched("heater", false) - switched("heater", true)) * APART_MS;
    const plateMs = (switched("plate", false) - switched("plate", true)) * APART_MS;
    expect(places).toEqual([
      {
        run: "2026-05-02-100000-flasher-latch",
        position: "V1",
        tube: null,
        serial: null,
        heaterMs,
        plateMs,
        heaterOnlyMs: heaterMs - plateMs,
      },
    ]);
  });

  it("count a run that was cut off up to its last whole line, and say it is not closed", () => {
    const powered = healthyUpTo((event) => event.kind === "step-begun");
    const { run, places } = factsOf([...powered, closed("pass")], 40);
    expect(run).toMatchObject({ seal: "not closed", cause: null, closed: null });
    expect(run.tornBytes).toBeGreaterThan(0);
    expect(places[0]?.heaterMs).toBe((powered.length - 1 - switched("heater", true)) * APART_MS);
  });

  it("count a section as conducting or cut off only where two looks see its net alike", () => {
    const looks = healthyEvents
      .map((event, index) => ({ event, index }))
      .filter(({ event }) => ["reading", "hold-progress"].includes(event.kind));
    const { sections } = factsOf(healthyEvents);
    // Q: low in its pattern, high in the hold and its two progresses, low in the flip and its progress.
    const [, , hold, , second, flip, flipEnd] = looks;
    const high = ((second?.index ?? 0) - (hold?.index ?? 0)) * APART_MS;
    const low = ((flipEnd?.index ?? 0) - (flip?.index ?? 0)) * APART_MS;
    expect(sections.find(({ net }) => net === "Q")).toMatchObject({
      stage: "V1b",
      position: "V1",
      section: "b",
      cutOffMs: high,
      conductingMs: low,
    });
  });

  it("take tubes from the unit sheet, a tube without a serial too", () => {
    const sheet = {
      unit: "FL-07",
      tubes: [{ position: "V1", tube: "ECC82", serial: "LV-T031" }],
      coldChecks: [],
    };
    const events = healthyEvents.map((event) =>
      event.kind === "run-opened" ? { ...opened, ...event, unitSheet: sheet } : event,
    );
    expect(factsOf(events).places).toMatchObject([{ tube: "ECC82", serial: "LV-T031" }]);
  });

  it("keep worst, mean and count of each net and level, with U where it was evaluated", () => {
    const { run, results, calibration } = factsOf(guardedEvents(13.2, "pass"));
    expect(run).toMatchObject({ uncertainty: "evaluated", calibration: "0123456789ab" });
    expect(calibration).toMatchObject({ id: "0123456789ab", rig: "cabin-bench", celsius: 21 });
    const low = results.find(({ channel, expected }) => channel === "Q" && expected === "low");
    expect(low).toMatchObject({
      kind: "net",
      worstV: 13.2,
      limitV: 14,
      worstExpandedV: 0.4,
      meanExpandedV: 0.4,
      meanCount: 2,
      sdV: 0,
    });
    expect(low?.meanV).toBeCloseTo(13.2, 12);
    // One set of the pattern, and those the flip counted.
    expect(low?.count).toBe(1 + 20);
  });

  it("leave readings of another level than expected out of a mean, and in the count", () => {
    const wrong: RunEvent = {
      kind: "reading",
      step: 0,
      part: "pattern",
      readings: [judgedNet("Q", "low", 9), judgedNet("Q", "low", 11), judgedNet("Q", "low", 44)],
    };
    const events = healthyEvents.flatMap((event) =>
      event.kind === "reading" && event.part === "pattern" ? [wrong] : [event],
    );
    const low = factsOf(events).results.find(
      ({ channel, expected }) => channel === "Q" && expected === "low",
    );
    // 9 and 11 of the pattern and 9.4 of the flip.
    expect(low?.meanCount).toBe(3);
    expect(low?.meanV).toBeCloseTo((9 + 11 + 9.4) / 3, 12);
    expect(low?.sdV).toBeCloseTo(Math.sqrt((0.8 ** 2 + 1.2 ** 2 + 0.4 ** 2) / 2), 12);
    expect(low).toMatchObject({ failed: 1, worstV: 44 });
  });
});
