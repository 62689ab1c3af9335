/** Records of every age stay readable: the files kept are of their day and are never made anew. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { buildRecord } from "../../src/record/build-record.ts";
import { parseRecord, RecordReadError } from "../../src/record/read-record.ts";
import { recordLines } from "../../src/record/record-lines.ts";
import { recordText } from "../../src/record/write-record.ts";
import { driftingSoak } from "../journal/drifting-soak.ts";
import { guardedEvents } from "../journal/guarded-run.ts";
import { writeRun } from "../journal/write-run.ts";

const draft = buildRecord(writeRun(guardedEvents(13.8, "conditional pass")).entries);

function kept(version: number): string {
  return readFileSync(
    new URL(`../golden/records/record-version-${version}.json`, import.meta.url),
    "utf8",
  );
}

function errorOf(text: string): RecordReadError {
  try {
    parseRecord(text);
  } catch (error) {
    if (error instanceof RecordReadError) return error;
    throw error;
  }
  throw new Error("expected a record that cannot be read");
}

describe("a record that was kept", () => {
  it.each([
    { version: 1, verdict: "pass" },
    { version: 2, verdict: "conditional pass" },
    { version: 3, verdict: "conditional pass" },
  ])("of version $version is read, whatever it had not yet", ({ version, verdict }) => {
    const record = parseRecord(kept(version));
    expect(record).toMatchObject({ version, verdict, unit: "FL-07", number: null, release: null });
    expect(record.status).toBe("draft, not released");
    expect(record.results.reduce((sum, { count }) => sum + count, 0)).toBeGreaterThan(1000);
    expect(record.results[0]?.conditionallyPassed).toBeTypeOf("number");
    expect(recordLines(record)[0]).toContain("flasher-latch revision A");
  });

  it("of version 1 and 2 claims nothing that nobody asked in its day", () => {
    for (const version of [1, 2]) {
      const { departures, remarks, statements, conditions } = parseRecord(kept(version));
      expect({ departures, remarks, statements }).toEqual({
        departures: [],
        remarks: [],
        statements: [],
      });
      expect(conditions.celsius).toBeNull();
    }
  });

  it("of today comes back as it was made", () => {
    expect(parseRecord(recordText(draft))).toEqual(draft);
  });
});

describe("a record that cannot be read", () => {
  it.each([
    ["no JSON", "{", "RECORD_NOT_A_RECORD"],
    ["JSON of another kind", '{"format":"holdfast-journal","version":3}', "RECORD_NOT_A_RECORD"],
    ["a list", "[]", "RECORD_NOT_A_RECORD"],
    ["a later version", recordText({ ...draft, version: 4 as 3 }), "RECORD_NEWER"],
    [
      "an earlier version that never was",
      recordText({ ...draft, version: 0 as 1 }),
      "RECORD_MALFORMED",
    ],
  ])("as %s is said to be so", (_, text, code) => {
    expect(errorOf(text).code).toBe(code);
  });

  it("names the member that is not as it was written", () => {
    const [first, ...rest] = draft.results;
    const spoilt = { ...draft, results: [{ ...first, count: "many" }, ...rest] };
    const error = errorOf(JSON.stringify(spoilt));
    expect(error).toMatchObject({ code: "RECORD_MALFORMED", pointer: "/results/0/count" });
    expect(error.message).toContain("/results/0/count");
  });

  it("lets a member through that a later program added", () => {
    const more = { ...draft, soakOfLater: { nights: 2 } };
    expect(parseRecord(JSON.stringify(more))).toMatchObject({ soakOfLater: { nights: 2 } });
  });
});

describe("a record of a soak", () => {
  it("is read back as it was written, its drift with it", () => {
    const soaked = driftingSoak({ seed: "weak", loss: { V1b: 0.05 } });
    const record = buildRecord(writeRun(soaked.map(({ event }) => event)).entries);
    const read = parseRecord(recordText(record));
    expect(read).toEqual(record);
    expect(read.soak?.drift.judged).toBe(true);
    expect(read.soak?.drift.findings[0]).toMatch(/^V1b conducts less and less/);
    expect(recordLines(read)).toEqual(recordLines(record));
    const broken = JSON.parse(recordText(record));
    delete broken.soak.drift.couldSee;
    expect(errorOf(JSON.stringify(broken)).message).toMatch(/\/soak\/drift\/couldSee/);
  });
});
