import { mkdtempSync, rmSync, truncateSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { JournalEntry } from "../../src/events/events.ts";
import { JournalReadError } from "../../src/journal/journal-fault.ts";
import { HASH_OF_NOTHING, lineOf, sha256Hex } from "../../src/journal/line.ts";
import { parseJournal, readJournal } from "../../src/journal/read-journal.ts";
import { healthyEvents, opened } from "./latch-run.ts";
import { writeRun } from "./write-run.ts";

const { bytes: whole, entries: written } = writeRun(healthyEvents);

function errorOf(act: () => unknown): JournalReadError {
  try {
    act();
  } catch (error) {
    if (error instanceof JournalReadError) return error;
    throw error;
  }
  throw new Error("Expected the journal to be refused, it was read.");
}

/** Number of the line, from 1, that holds the byte at this offset. */
function lineAt(offset: number): number {
  return whole.subarray(0, offset).filter((byte) => byte === 0x0a).length + 1;
}

/** Lines made anew so that each one's own check and link hold. */
function reforged(events: readonly unknown[], change: (entry: JournalEntry) => object): Buffer {
  let before = HASH_OF_NOTHING;
  const lines = events.map((event, n) => {
    const entry = { n, ms: n, before, event } as JournalEntry;
    const line = lineOf({ ...entry, ...change(entry) });
    before = sha256Hex(line);
    return line;
  });
  return Buffer.from(lines.join(""));
}

describe("a sound journal", () => {
  it("reads back entry for entry", () => {
    const read = parseJournal(whole);
    expect(read.entries).toEqual(written);
    expect(read.torn).toBeNull();
    expect(written).toHaveLength(healthyEvents.length);
  });

  it("cut at any byte is a prefix of itself, with the torn line reported", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: whole.length }), (length) => {
        const read = parseJournal(whole.subarray(0, length));
        const lines = lineAt(length) - 1;
        expect(read.entries).toEqual(written.slice(0, lines));
        expect(read.torn === null).toBe(whole[length - 1] === 0x0a);
        if (read.torn !== null) expect(read.torn.line).toBe(lines + 1);
      }),
      { numRuns: 150 },
    );
  });
});

describe("a changed journal", () => {
  it("is found and the line named, whichever byte became whatever else", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: whole.length - 2 }),
        fc.integer({ min: 1, max: 255 }),
        (offset, flip) => {
          const changed = Buffer.from(whole);
          changed[offset] = (changed[offset] ?? 0) ^ flip;
          const error = errorOf(() => parseJournal(changed));
          expect(error.line).toBe(lineAt(offset));
          if (error.code !== "JOURNAL_NOT_A_JOURNAL") {
            expect(error.message).toContain(`line ${error.line}`);
          }
        },
      ),
      { numRuns: 400 },
    );
  });

  it("that lost its last LF reports the line it can no longer vouch for", () => {
    const changed = Buffer.from(whole);
    changed[whole.length - 1] = 0x20;
    expect(parseJournal(changed).torn?.line).toBe(written.length);
  });

  it("with the verdict rewritten in its last line is found there", () => {
    const text = whole.toString("utf8");
    const changed = text.replace('"verdict":"pass"', '"verdict":"fail"');
    expect(changed).not.toBe(text);
    expect(errorOf(() => parseJournal(Buffer.from(changed)))).toMatchObject({
      code: "JOURNAL_ALTERED",
      line: written.length,
    });
  });

  it("with a line forged whole is found at the line after it", () => {
    const lines = whole.toString("utf8").split(/(?<=\n)/);
    const fourth = written[3];
    if (fourth === undefined) throw new Error("The run is shorter than expected.");
    lines[3] = lineOf({ ...fourth, event: { kind: "remark", text: "nothing happened" } });
    expect(errorOf(() => parseJournal(Buffer.from(lines.join(""))))).toMatchObject({
      code: "JOURNAL_CHAIN_BROKEN",
      line: 5,
      message: expect.stringContaining("does not continue line 4"),
    });
  });

  it("with a line taken out, doubled or exchanged is found", () => {
    const lines = whole.toString("utf8").split(/(?<=\n)/);
    const without = [...lines.slice(0, 5), ...lines.slice(6)];
    const doubled = [...lines.slice(0, 6), ...lines.slice(5)];
    const exchanged = [...lines.slice(0, 4), lines[5], lines[4], ...lines.slice(6)];
    const found = [without, doubled, exchanged].map((some) =>
      errorOf(() => parseJournal(Buffer.from(some.join("")))),
    );
    expect(found.map(({ code, line }) => [code, line])).toEqual([
      ["JOURNAL_CHAIN_BROKEN", 6],
      ["JOURNAL_CHAIN_BROKEN", 7],
      ["JOURNAL_CHAIN_BROKEN", 5],
    ]);
  });

  it("whose numbers skip is found, though each line continues the one before", () => {
    const bytes = reforged([opened, { kind: "remark", text: "a" }], ({ n }) => ({ n: 3 * n }));
    expect(errorOf(() => parseJournal(bytes))).toMatchObject({
      code: "JOURNAL_CHAIN_BROKEN",
      line: 2,
      message: expect.stringContaining("carries number 3, expected 1"),
    });
  });

  it("whose time runs backwards is found", () => {
    const bytes = reforged(
      [opened, { kind: "remark", text: "a" }, { kind: "remark", text: "b" }],
      ({ n }) => ({
        ms: [0, 900, 800][n] ?? 0,
      }),
    );
    expect(errorOf(() => parseJournal(bytes))).toMatchObject({
      code: "JOURNAL_CHAIN_BROKEN",
      line: 3,
    });
  });
});

describe("a file that is no journal of this version", () => {
  it.each([
    ["text", "the lamp flasher was fine\nyes\n"],
    ["JSON of another kind", '{"format":"holdfast-record","version":1}\n'],
    ["a blank line", "\n"],
    ["a single byte", "x"],
    ["zeros", "\0".repeat(4096)],
  ])("is refused as such: %s", (_, text) => {
    expect(errorOf(() => parseJournal(Buffer.from(text))).code).toBe("JOURNAL_NOT_A_JOURNAL");
  });

  it("is refused when empty", () => {
    expect(errorOf(() => parseJournal(Buffer.alloc(0)))).toMatchObject({
      code: "JOURNAL_EMPTY",
      message: expect.stringContaining("empty file"),
    });
  });

  it("is refused as newer, by format, its version and ours", () => {
    const newer = reforged([{ ...opened, version: 5, mood: "new" }], () => ({}));
    const error = errorOf(() => parseJournal(newer));
    expect(error).toMatchObject({ code: "JOURNAL_NEWER", line: 1 });
    expect(error.message).toContain("holdfast-journal version 4 or older");
    expect(error.message).toContain("version 5");
  });

  it("is refused when its first line is sound but opens no run", () => {
    const bytes = reforged([{ kind: "remark", text: "late" }], () => ({}));
    expect(errorOf(() => parseJournal(bytes)).code).toBe("JOURNAL_NOT_A_JOURNAL");
  });

  it.each([
    [{ kind: "banner", text: "x" }, "kind"],
    [{ kind: "remark" }, "event.text"],
    [{ kind: "remark", text: "x", colour: "red" }, "colour"],
    [{ kind: "phase", phase: "resting" }, "event.phase"],
    [
      {
        kind: "watch",
        readings: [
          { channel: "Q", volts: null, noReading: null, sum: 0, count: 0, min: 0, max: 0 },
        ],
      },
      "event.readings.0",
    ],
  ])("is refused at an event it does not know: %o", (event, where) => {
    const error = errorOf(() => parseJournal(reforged([opened, event], () => ({}))));
    expect(error).toMatchObject({ code: "JOURNAL_EVENT_UNKNOWN", line: 2 });
    expect(error.message).toContain(where);
  });

  it("never fails in another way, whatever the bytes", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), fc.boolean(), (noise, opens) => {
        const head = opens ? whole.subarray(0, 200) : Buffer.alloc(0);
        try {
          parseJournal(Buffer.concat([head, noise]));
        } catch (error) {
          expect(error).toBeInstanceOf(JournalReadError);
        }
      }),
    );
  });
});

describe("readJournal", () => {
  let folder = "";
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), "holdfast-read-"));
  });
  afterEach(() => {
    rmSync(folder, { recursive: true, force: true });
  });

  it("names a file that is not there, and a folder", () => {
    const missing = errorOf(() => readJournal(join(folder, "none.ndjson")));
    expect(missing.code).toBe("JOURNAL_UNREADABLE");
    expect(missing.message).toContain("none.ndjson");
    expect(errorOf(() => readJournal(folder)).code).toBe("JOURNAL_UNREADABLE");
  });

  it("refuses a file too large to be a journal without reading it", () => {
    const path = join(folder, "disk-image");
    writeFileSync(path, "");
    truncateSync(path, 600 * 1024 * 1024);
    expect(errorOf(() => readJournal(path)).code).toBe("JOURNAL_TOO_LARGE");
  });
});
