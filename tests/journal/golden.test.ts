/**
 * A journal of each version that was ever written stays here and stays readable: the bytes are of
 * their day and are never made anew, unlike the record that today's program draws from them.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { foldJournal } from "../../src/journal/fold.ts";
import { parseJournal } from "../../src/journal/read-journal.ts";
import { buildRecord } from "../../src/record/build-record.ts";
import { recordText } from "../../src/record/write-record.ts";
import { healthyEvents } from "./latch-run.ts";
import { writeRun } from "./write-run.ts";

const first = readFileSync(new URL("../golden/journal/version-1.ndjson", import.meta.url));

describe("the journal of version 1", () => {
  it("reads whole and folds to its verdict", () => {
    const { entries, torn } = parseJournal(first);
    expect(torn).toBeNull();
    const run = foldJournal(entries);
    expect(run.verdict).toBe("pass");
    expect(run.opened?.unit).toBe("FL-07");
    expect(run.channels.find(({ channel }) => channel === "Q")?.volts).toBe(9.4);
  });

  it("is what the same events are written as today", () => {
    expect(writeRun(healthyEvents).bytes.equals(first)).toBe(true);
  });

  it("gives the record kept beside it", async () => {
    const text = recordText(buildRecord(parseJournal(first).entries));
    await expect(text).toMatchFileSnapshot("../golden/journal/version-1-record.txt");
  });
});
