import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import { JournalFault } from "../../src/journal/journal-fault.ts";
import { type Journal, openJournal } from "../../src/journal/open-journal.ts";
import { parseJournal, readJournal } from "../../src/journal/read-journal.ts";
import { healthyEvents, opened } from "./latch-run.ts";
import { type MemoryFile, memoryFile, systemError } from "./memory-file.ts";
import { steppingClock, writeRun } from "./write-run.ts";

function open(file: MemoryFile): Journal {
  return openJournal({
    path: "run.ndjson",
    clock: steppingClock(5000),
    startMs: 5000,
    createFile: file.create,
  });
}

function remark(text: string): RunEvent {
  return { kind: "remark", text };
}

function faultOf(act: () => void): JournalFault {
  try {
    act();
  } catch (error) {
    if (error instanceof JournalFault) return error;
    throw error;
  }
  throw new Error("Expected a journal fault, got none.");
}

describe("append and seal", () => {
  it("puts nothing on the disk and tells nobody before the seal", () => {
    const file = memoryFile();
    const journal = open(file);
    const told: JournalEntry[] = [];
    journal.subscribe((entry) => told.push(entry));
    journal.append(opened);
    expect(file.bytes()).toHaveLength(0);
    expect(told).toHaveLength(0);
    expect(journal.unsealed.map(({ event }) => event.kind)).toEqual(["run-opened"]);
    journal.seal();
    expect(told.map(({ event }) => event.kind)).toEqual(["run-opened"]);
    expect(journal.unsealed).toHaveLength(0);
    expect(journal.sealedLines).toBe(1);
  });

  it("tells subscribers only once the bytes are synced", () => {
    const file = memoryFile();
    const journal = open(file);
    const syncedBytes: number[] = [];
    journal.subscribe(() => syncedBytes.push(file.synced().length));
    journal.append(opened);
    journal.append(remark("lamp lens cleaned"));
    journal.seal();
    expect(syncedBytes).toEqual([file.bytes().length, file.bytes().length]);
  });

  it("counts milliseconds from the opening of the run", () => {
    const { entries } = writeRun([opened, remark("a"), remark("b")]);
    expect(entries.map(({ n, ms }) => [n, ms])).toEqual([
      [0, 250],
      [1, 500],
      [2, 750],
    ]);
  });

  it("gives subscribers what the file holds, not the caller's object", () => {
    const file = memoryFile();
    const journal = open(file);
    const told: JournalEntry[] = [];
    journal.subscribe((entry) => told.push(entry));
    const set = { SET: "high" as "high" | "low" };
    journal.append(opened);
    journal.append({ kind: "lines", set });
    set.SET = "low";
    journal.seal();
    expect(told[1]?.event).toEqual({ kind: "lines", set: { SET: "high" } });
    expect(parseJournal(file.bytes()).entries).toEqual(told);
  });

  it("gives the same bytes whatever the order of keys and however events are grouped", () => {
    const reordered = healthyEvents.map((event): RunEvent => {
      const turned = Object.fromEntries(Object.entries(event).reverse());
      return turned as unknown as RunEvent;
    });
    expect(writeRun(reordered, 1).bytes.equals(writeRun(healthyEvents, 7).bytes)).toBe(true);
  });

  it("only ever appends: each state of the file begins with the one before", () => {
    const file = memoryFile({ chunkBytes: 100 });
    const journal = open(file);
    for (const event of healthyEvents.slice(0, 12)) {
      journal.append(event);
      journal.seal();
    }
    for (const [index, state] of file.history.entries()) {
      const before = file.history[index - 1] ?? Buffer.alloc(0);
      expect(state.subarray(0, before.length).equals(before)).toBe(true);
    }
    expect(parseJournal(file.bytes()).entries).toHaveLength(12);
  });

  it("refuses what JSON cannot carry and names where it stands", () => {
    const journal = open(memoryFile());
    const lost: RunEvent = {
      kind: "net-warm",
      net: "Q",
      volts: Number.NaN,
      validMs: 1,
      steadyMs: 1,
    };
    expect(() => journal.append(lost)).toThrow(/finite number at event\.volts, got NaN/);
    expect(journal.unsealed).toHaveLength(0);
  });

  it("refuses a clock that runs backwards", () => {
    let nowMs = 100;
    const journal = openJournal({
      path: "run.ndjson",
      clock: { ...steppingClock(), nowMs: () => nowMs },
      startMs: 0,
      createFile: memoryFile().create,
    });
    journal.append(opened);
    nowMs = 50;
    expect(() => journal.append(remark("late"))).toThrow(/at or after 100 ms, got 50 ms/);
  });

  it("bounds what may wait for a seal", () => {
    const journal = open(memoryFile());
    const gather = () => {
      for (let count = 0; count < 5000; count += 1) journal.append(remark("again"));
    };
    expect(gather).toThrow(/Seal the journal/);
    expect(journal.unsealed.length).toBeLessThan(5000);
  });
});

describe("a disk that fails", () => {
  it("when full keeps the sealed lines, cuts the torn bytes off and says what is safe", () => {
    const file = memoryFile();
    const journal = open(file);
    journal.append(opened);
    journal.seal();
    const sealed = file.bytes();
    file.disk.roomBytes = sealed.length + 60;
    journal.append(remark("the fog signal relay has been cleaned and sits in its socket again"));
    const fault = faultOf(() => journal.seal());
    expect(fault).toMatchObject({ code: "JOURNAL_DISK_FULL", sealedLines: 1 });
    expect(fault.message).toContain("the disk is full");
    expect(journal.fault).toBe(fault);
    expect(file.bytes().equals(sealed)).toBe(true);
    expect(parseJournal(file.bytes())).toMatchObject({ torn: null, entries: [{ n: 0 }] });
  });

  it("that has room again takes the events gathered meanwhile, in one chain", () => {
    const file = memoryFile();
    const journal = open(file);
    const told: number[] = [];
    journal.subscribe(({ n }) => told.push(n));
    journal.append(opened);
    journal.seal();
    file.disk.roomBytes = file.bytes().length;
    journal.append(remark("plate switched off"));
    faultOf(() => journal.seal());
    journal.append(remark("bias switched off"));
    faultOf(() => journal.seal());
    expect(told).toEqual([0]);
    file.disk.roomBytes = Number.POSITIVE_INFINITY;
    journal.seal();
    expect(journal.fault).toBeNull();
    expect(told).toEqual([0, 1, 2]);
    expect(parseJournal(file.bytes()).entries).toHaveLength(3);
  });

  it.each(["EIO", "EROFS", "EBADF"])("with %s on writing is never written to again", (code) => {
    const file = memoryFile();
    const journal = open(file);
    journal.append(opened);
    journal.seal();
    file.disk.writeError = code;
    journal.append(remark("lost"));
    const fault = faultOf(() => journal.seal());
    expect(fault).toMatchObject({ code: "JOURNAL_WRITE_FAILED", sealedLines: 1 });
    file.disk.writeError = null;
    expect(faultOf(() => journal.seal())).toBe(fault);
    expect(parseJournal(file.bytes()).entries).toHaveLength(1);
  });

  it("that does not confirm a sync seals nothing and is not trusted again", () => {
    const file = memoryFile({ syncError: "EIO" });
    const journal = open(file);
    const told: JournalEntry[] = [];
    journal.subscribe((entry) => told.push(entry));
    journal.append(opened);
    const fault = faultOf(() => journal.seal());
    expect(fault.code).toBe("JOURNAL_WRITE_FAILED");
    expect(fault.message).toContain("did not confirm");
    file.disk.syncError = null;
    expect(faultOf(() => journal.seal())).toBe(fault);
    expect(told).toHaveLength(0);
  });

  it("that cannot even be cut back leaves a torn last line, which a reader drops", () => {
    const file = memoryFile({ truncateError: "EIO" });
    const journal = open(file);
    journal.append(opened);
    journal.seal();
    file.disk.roomBytes = file.bytes().length + 40;
    journal.append(remark("half of this is written"));
    expect(faultOf(() => journal.seal()).code).toBe("JOURNAL_WRITE_FAILED");
    expect(parseJournal(file.bytes())).toMatchObject({
      entries: [{ n: 0 }],
      torn: { line: 2, bytes: 40 },
    });
  });

  it("never makes append fail, and bounds what waits", () => {
    const file = memoryFile({ roomBytes: 0 });
    const journal = open(file);
    journal.append(opened);
    faultOf(() => journal.seal());
    for (let count = 0; count < 6000; count += 1) journal.append(remark("still here"));
    expect(journal.unsealed.length).toBeLessThanOrEqual(4096);
  });

  it("at any room and any write size leaves exactly the sealed lines", () => {
    const whole = writeRun(healthyEvents).bytes.length;
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: whole }),
        fc.integer({ min: 1, max: 9000 }),
        (roomBytes, chunkBytes) => {
          const file = memoryFile({ roomBytes, chunkBytes });
          const journal = open(file);
          let sealed = 0;
          journal.subscribe(() => {
            sealed += 1;
          });
          for (const event of healthyEvents) {
            journal.append(event);
            if (journal.fault === null) {
              try {
                journal.seal();
              } catch (error) {
                expect(error).toBeInstanceOf(JournalFault);
              }
            }
          }
          expect(journal.sealedLines).toBe(sealed);
          if (sealed > 0) {
            const read = parseJournal(file.bytes());
            expect(read.torn).toBeNull();
            expect(read.entries).toHaveLength(sealed);
            expect(read.lastHash).toBe(journal.lastHash);
          }
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe("a journal on the real disk", () => {
  let folder = "";
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), "holdfast-journal-"));
  });
  afterEach(() => {
    rmSync(folder, { recursive: true, force: true });
  });

  function openIn(path: string): Journal {
    return openJournal({ path, clock: steppingClock(), startMs: 0 });
  }

  it("makes its folder, reads back as written, and links as the shell computes it", () => {
    const path = join(folder, "runs", "night.ndjson");
    const journal = openIn(path);
    for (const event of healthyEvents) journal.append(event);
    journal.seal();
    journal.close();
    const read = readJournal(path);
    expect(read.entries.map(({ event }) => event)).toEqual(healthyEvents);
    expect(read.lastHash).toBe(journal.lastHash);
    const shell = execFileSync("sh", ["-c", `sed -n 3p "${path}" | sha256sum`], {
      encoding: "utf8",
    });
    expect(shell.split(" ")[0]).toBe(read.entries[3]?.before);
  });

  it("is never opened over a file that is there", () => {
    const path = join(folder, "run.ndjson");
    openIn(path).close();
    const fault = faultOf(() => openIn(path));
    expect(fault.code).toBe("JOURNAL_EXISTS");
    expect(fault.message).toContain("never written over");
    expect(readFileSync(path)).toHaveLength(0);
  });

  it("in a folder that cannot be made says so", () => {
    const path = join(folder, "run.ndjson");
    openIn(path).close();
    expect(faultOf(() => openIn(join(path, "below.ndjson"))).code).toBe("JOURNAL_NOT_OPENED");
    const refused = faultOf(() =>
      openJournal({
        path: "x",
        clock: steppingClock(),
        startMs: 0,
        createFile: () => {
          throw systemError("EACCES");
        },
      }),
    );
    expect(refused.message).toContain("EACCES");
  });

  it("takes no seal after it was closed", () => {
    const journal = openIn(join(folder, "run.ndjson"));
    journal.close();
    journal.close();
    journal.append(opened);
    expect(faultOf(() => journal.seal()).code).toBe("JOURNAL_CLOSED");
  });
});
