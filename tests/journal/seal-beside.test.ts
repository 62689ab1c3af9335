/** Sealing while the program goes on: what was told is on the medium, whatever comes in between. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setImmediate } from "node:timers/promises";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import { JournalFault } from "../../src/journal/journal-fault.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import { parseJournal } from "../../src/journal/read-journal.ts";
import { opened } from "./latch-run.ts";
import { memoryFile } from "./memory-file.ts";
import { steppingClock } from "./write-run.ts";

const remark = (text: string): RunEvent => ({ kind: "remark", text });

const wholeLines = (bytes: Buffer): number => bytes.toString("latin1").split("\n").length - 1;

function open({ sealsBeside = true } = {}) {
  const file = memoryFile();
  const journal = openJournal({
    path: "run.ndjson",
    clock: steppingClock(5000),
    startMs: 5000,
    createFile: file.create,
    sealsBeside,
  });
  const told: JournalEntry[] = [];
  const faults: JournalFault[] = [];
  journal.subscribe((entry) => told.push(entry));
  const write = (event: RunEvent): void => {
    journal.append(event);
    journal.sealBeside((fault) => faults.push(fault));
  };
  return { file, journal, told, faults, write };
}

describe("sealing beside the program", () => {
  it("returns before the disk has answered, and tells once it has", () => {
    const { file, journal, told, write } = open();
    write(opened);
    expect(told).toEqual([]);
    expect(journal.sealedLines).toBe(0);
    expect(file.synced()).toHaveLength(0);
    file.endSync();
    expect(told.map(({ n }) => n)).toEqual([0]);
    expect(journal.sealedLines).toBe(1);
    expect(journal.unsealed).toEqual([]);
  });

  it("takes what came meanwhile with the next one, and asks the disk for one thing at a time", () => {
    const { file, told, write } = open();
    write(opened);
    write(remark("lamp lens cleaned"));
    write(remark("fog signal oiled"));
    file.endSync();
    expect(told.map(({ n }) => n)).toEqual([0]);
    file.endSync();
    expect(told.map(({ n }) => n)).toEqual([0, 1, 2]);
    expect(file.endSync()).toBe(false);
    expect(parseJournal(file.bytes())).toMatchObject({ torn: null, entries: { length: 3 } });
  });

  it("is overtaken by a plain seal, and tells nothing twice", () => {
    const { file, journal, told, write } = open();
    write(opened);
    journal.append(remark("plate switched off"));
    journal.seal();
    expect(told.map(({ n }) => n)).toEqual([0, 1]);
    file.endSync();
    expect(told.map(({ n }) => n)).toEqual([0, 1]);
  });

  it("tells of a disk that does not confirm, and nothing counts any more", () => {
    const { file, journal, told, faults, write } = open();
    write(opened);
    file.endSync();
    write(remark("lost"));
    file.disk.syncError = "EIO";
    file.endSync();
    expect(faults).toMatchObject([{ code: "JOURNAL_WRITE_FAILED", sealedLines: 1 }]);
    expect(told.map(({ n }) => n)).toEqual([0]);
    file.disk.syncError = null;
    expect(() => journal.seal()).toThrow(JournalFault);
    expect(parseJournal(file.bytes())).toMatchObject({ torn: null, entries: { length: 1 } });
  });

  it("is told nothing of lines that a full disk made it cut off meanwhile", () => {
    const { file, journal, told, write } = open();
    write(opened);
    file.disk.roomBytes = file.bytes().length;
    journal.append(remark("one more"));
    expect(() => journal.seal()).toThrow("the disk is full");
    file.endSync();
    expect(told).toEqual([]);
    file.disk.roomBytes = Number.POSITIVE_INFINITY;
    journal.seal();
    expect(told.map(({ n }) => n)).toEqual([0, 1]);
    expect(parseJournal(file.bytes())).toMatchObject({ torn: null, entries: { length: 2 } });
  });

  it("says nothing after the journal was closed", () => {
    const { file, journal, told, faults, write } = open();
    write(opened);
    journal.close();
    file.endSync();
    expect({ told, faults }).toEqual({ told: [], faults: [] });
  });

  it("is a plain seal where time stands still while the disk works", () => {
    const { file, told, write } = open({ sealsBeside: false });
    write(opened);
    expect(told.map(({ n }) => n)).toEqual([0]);
    expect(file.endSync()).toBe(false);
  });

  it("never tells of a line that is not on the medium, and tells each once, in any order of things", () => {
    const act = fc.constantFrom(
      ...["append", "append", "append", "beside", "beside", "beside", "end", "end"],
      ...["seal", "full", "room", "fail"],
    );
    fc.assert(
      fc.property(fc.array(act, { maxLength: 60 }), (acts) => {
        const { file, journal, told } = open();
        const faults: JournalFault[] = [];
        const orFault = (write: () => void): void => {
          try {
            write();
          } catch (fault) {
            if (!(fault instanceof JournalFault)) throw fault;
            faults.push(fault);
          }
        };
        journal.subscribe(({ n }) => {
          expect(wholeLines(file.synced())).toBeGreaterThan(n);
        });
        for (const one of acts) {
          if (one === "append") journal.append(remark("another"));
          else if (one === "beside")
            orFault(() => journal.sealBeside((fault) => faults.push(fault)));
          else if (one === "seal") orFault(() => journal.seal());
          else if (one === "end") orFault(() => void file.endSync());
          else if (one === "full") file.disk.roomBytes = file.bytes().length + 10;
          else if (one === "room") file.disk.roomBytes = Number.POSITIVE_INFINITY;
          else if (faults.length === 0) {
            file.disk.syncError = acts.length % 2 === 0 ? "EIO" : null;
          }
        }
        expect(told.map(({ n }) => n)).toEqual(told.map((_, at) => at));
        expect(wholeLines(file.bytes())).toBeGreaterThanOrEqual(told.length);
      }),
      { numRuns: 2000 },
    );
  });

  it("ends on a real disk too", async () => {
    const folder = mkdtempSync(join(tmpdir(), "holdfast-beside-"));
    try {
      const path = join(folder, "journal.ndjson");
      const clock = steppingClock(0);
      const journal = openJournal({ path, clock, startMs: 0, sealsBeside: true });
      journal.append(opened);
      journal.sealBeside((fault) => {
        throw fault;
      });
      while (journal.sealedLines === 0) await setImmediate();
      journal.close();
      expect(parseJournal(readFileSync(path)).entries).toHaveLength(1);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
