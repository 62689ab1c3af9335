import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { JournalEntry } from "../../src/events/events.ts";
import { JournalReadError } from "../../src/journal/journal-fault.ts";
import { parseJournal } from "../../src/journal/read-journal.ts";
import { JournalScanner, scanJournal } from "../../src/journal/scan-journal.ts";
import { healthyEvents } from "./latch-run.ts";
import { writeRun } from "./write-run.ts";

const { bytes: whole, entries: written } = writeRun(healthyEvents);

function errorOf(act: () => unknown): unknown {
  try {
    act();
  } catch (error) {
    return error;
  }
  return null;
}

describe("JournalScanner", () => {
  it("tells the same entries wherever the bytes were cut into pieces", () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 1, max: 3000 }), { minLength: 1, maxLength: 60 }),
        fc.integer({ min: 1, max: whole.length }),
        (sizes, length) => {
          const told: JournalEntry[] = [];
          const scanner = new JournalScanner((entry) => told.push(entry));
          for (let at = 0, turn = 0; at < length; turn += 1) {
            const next = Math.min(length, at + (sizes[turn % sizes.length] ?? 1));
            scanner.take(whole.subarray(at, next));
            at = next;
          }
          const { entries, ...end } = parseJournal(whole.subarray(0, length));
          expect(scanner.end()).toEqual(end);
          expect(told).toEqual(entries);
        },
      ),
      { numRuns: 60 },
    );
  });

  it("refuses a line that never ends as soon as it is longer than any line", () => {
    const scanner = new JournalScanner(() => undefined);
    scanner.take(whole);
    const piece = Buffer.alloc(1024 * 1024, "x");
    const error = errorOf(() => {
      for (let turn = 0; turn < 6; turn += 1) scanner.take(piece);
    });
    expect(error).toBeInstanceOf(JournalReadError);
    expect(error).toMatchObject({ code: "JOURNAL_ALTERED", line: written.length + 1 });
  });
});

describe("scanJournal(path, onEntry)", () => {
  let folder: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), "holdfast-scan-"));
  });
  afterEach(() => rmSync(folder, { recursive: true }));

  it("lets what the listener throws go by as it is", () => {
    const path = join(folder, "journal.ndjson");
    writeFileSync(path, whole);
    const own = new Error("the listener's own");
    const stop = (): never => {
      throw own;
    };
    expect(errorOf(() => scanJournal(path, stop))).toBe(own);
  });

  it("says that a journal is not there as a fault of reading it", () => {
    const error = errorOf(() => scanJournal(join(folder, "none.ndjson"), () => undefined));
    expect(error).toMatchObject({ code: "JOURNAL_UNREADABLE" });
  });

  it("has told what stands before a broken line, and names that line", () => {
    const path = join(folder, "journal.ndjson");
    const broken = Buffer.from(whole);
    const third = whole.indexOf(0x0a, whole.indexOf(0x0a) + 1) + 1;
    broken[third + 20] = (broken[third + 20] ?? 0) ^ 1;
    writeFileSync(path, broken);
    const told: JournalEntry[] = [];
    expect(errorOf(() => scanJournal(path, (entry) => told.push(entry)))).toMatchObject({
      line: 3,
    });
    expect(told).toEqual(written.slice(0, 2));
  });
});
