import { describe, expect, it } from "vitest";
import type { JournalEntry, RunEvent } from "../../../src/events/events.ts";
import { noReading } from "../../../src/measure/reading.ts";
import { ReadingsCsv } from "../../../src/record/export/readings-csv.ts";
import { healthyEvents, reading } from "../../journal/latch-run.ts";
import { soakEvents } from "../../journal/soak-events.ts";
import { writeRun } from "../../journal/write-run.ts";
import { readCsv } from "./csv-reader.ts";

function csvOf(entries: Iterable<JournalEntry>): Record<string, string>[] {
  const csv = new ReadingsCsv();
  let text = csv.header();
  for (const entry of entries) text += csv.take(entry);
  const [head = [], ...rows] = readCsv(text);
  expect(rows.every((row) => row.length === head.length)).toBe(true);
  return rows.map((row) => Object.fromEntries(head.map((name, at) => [name, row[at] ?? ""])));
}

/** Readings that an event carries, however deep: what a row must exist for. */
function readingsIn(value: unknown): unknown[] {
  if (Array.isArray(value)) return value.flatMap(readingsIn);
  if (typeof value !== "object" || value === null) return [];
  if ("channel" in value && "noReading" in value) return [value];
  return Object.values(value).flatMap(readingsIn);
}

describe("ReadingsCsv", () => {
  const { entries } = writeRun(healthyEvents);

  it("has one row for each reading that was sealed, in order, to the last digit", () => {
    const rows = csvOf(entries);
    const sealed = entries.flatMap(({ n, event }) => readingsIn(event).map((one) => ({ n, one })));
    expect(rows).toHaveLength(sealed.length);
    for (const [at, { n, one }] of sealed.entries()) {
      expect(rows[at]).toMatchObject({
        n: String(n),
        channel: Object(one).channel,
        volts: String(Object(one).volts),
      });
    }
  });

  it("carries what a reading was judged by", () => {
    expect(csvOf(entries).find(({ kind }) => kind === "reading")).toMatchObject({
      step: "1",
      step_name: "reset",
      part: "pattern",
      channel: "Q",
      expected: "low",
      class: "low",
      result: "pass",
      limit_volts: "14",
    });
  });

  it("leaves a cell empty where there is no value, and says why there was no reading", () => {
    const event: RunEvent = { kind: "watch", readings: [noReading("Q", "clipped")] };
    const [row] = csvOf([{ n: 0, ms: 5, before: "", event }]);
    expect(row).toMatchObject({ volts: "", no_reading: "clipped", expected: "", ms: "5" });
  });

  it("quotes what needs it, and lets no text of a file become a formula", () => {
    const json = JSON.stringify(entries).replaceAll(
      '"reset"',
      JSON.stringify('=1+1,"two"\r\nlines'),
    );
    const rows = csvOf(JSON.parse(json) as JournalEntry[]);
    const named = rows.find(({ step_name: name }) => name !== "");
    expect(named?.["step_name"]).toBe('\'=1+1,"two"\r\nlines');
    const bias: RunEvent = { kind: "watch", readings: [reading("bias.board", -24)] };
    expect(csvOf([{ n: 0, ms: 0, before: "", event: bias }])[0]?.["volts"]).toBe("-24");
  });

  it("has the full sets and the wrong cycles of a soak", () => {
    const timed = [...soakEvents({ cycles: 2000, wrongEvery: 500, driftV: 0 })];
    const rows = csvOf(timed.map(({ ms, event }, n) => ({ n, ms, before: "", event })));
    const wrong = rows.filter(({ kind, result }) => kind === "cycle-error" && result === "fail");
    expect(wrong.map(({ cycle }) => cycle)).toEqual(["500", "1000", "1500", "2000"]);
    expect(rows.some(({ kind, part }) => kind === "soak-readings" && part === "settled")).toBe(
      true,
    );
  });
});
