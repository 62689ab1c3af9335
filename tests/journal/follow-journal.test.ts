import {
  appendFileSync,
  mkdtempSync,
  renameSync,
  rmSync,
  truncateSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunEvent } from "../../src/events/events.ts";
import { type FollowEnd, followJournal } from "../../src/journal/follow-journal.ts";
import { healthyEvents } from "./latch-run.ts";
import { writeRun } from "./write-run.ts";

const { bytes, entries } = writeRun(healthyEvents);
/** Where each line ends. */
const ends = [...bytes.entries()].flatMap(([at, byte]) => (byte === 0x0a ? [at + 1] : []));
const endOf = (line: number): number => ends[line - 1] ?? 0;
const inOrder = (count: number) => Array.from({ length: count }, (_, n) => n);

let folder = "";
let path = "";
const leave: (() => void)[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-follow-"));
  path = join(folder, "journal.ndjson");
});
afterEach(() => {
  for (const go of leave.splice(0)) go();
  rmSync(folder, { recursive: true, force: true });
});

/** A viewer of the file at `path`; `wake` is what the file system would do. */
function viewer({ wallStart = "2020-01-01T00:00:00.000+00:00", ready = true } = {}) {
  const clock = createVirtualClock({ wallStart });
  const control = new AbortController();
  const heard: number[] = [];
  const silent: (number | null)[] = [];
  let retold = 0;
  let wake = (): void => undefined;
  let isReady = ready;
  let end: FollowEnd | null = null;
  const done = followJournal({
    path,
    clock,
    signal: control.signal,
    mayRead: () => isReady,
    onEntry: ({ n }) => heard.push(n),
    onRetold: () => {
      retold += 1;
      heard.length = 0;
    },
    onSilence: (ms) => silent.push(ms),
    watchFile: (_, given) => {
      wake = given;
      return () => undefined;
    },
  }).then((how) => {
    end = how;
  });
  leave.push(() => control.abort());
  return {
    clock,
    control,
    heard,
    silent,
    done,
    retold: () => retold,
    wake: () => wake(),
    setReady: (ready: boolean) => {
      isReady = ready;
    },
    end: () => end,
  };
}

describe("followJournal(options)", () => {
  it("tells a journal that is closed from end to end, and is done", async () => {
    writeFileSync(path, bytes);
    const { clock, heard, end } = viewer();
    await clock.advance(0);
    expect(heard).toEqual(entries.map(({ n }) => n));
    expect(end()).toEqual({ kind: "closed" });
  });

  it("tells lines as they come, woken or not, and no line before the whole of it is there", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(3) + 20));
    const { clock, heard, wake, end } = viewer();
    await clock.advance(1000);
    expect(heard).toEqual([0, 1, 2]);
    appendFileSync(path, bytes.subarray(endOf(3) + 20, endOf(4)));
    await clock.advance(300);
    expect(heard).toEqual([0, 1, 2, 3]);
    appendFileSync(path, bytes.subarray(endOf(4), endOf(5)));
    wake();
    await clock.advance(41);
    expect(heard).toEqual([0, 1, 2, 3, 4]);
    appendFileSync(path, bytes.subarray(endOf(5)));
    await clock.advance(300);
    expect(end()).toEqual({ kind: "closed" });
    expect(heard).toHaveLength(entries.length);
  });

  it("waits in a file that is still empty", async () => {
    writeFileSync(path, "");
    const { clock, heard, end } = viewer();
    await clock.advance(1000);
    expect(end()).toBeNull();
    writeFileSync(path, bytes);
    await clock.advance(300);
    expect(heard).toHaveLength(entries.length);
  });

  it("serves two who look at one file", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(4)));
    const [one, other] = [viewer(), viewer()];
    await one.clock.advance(1000);
    appendFileSync(path, bytes.subarray(endOf(4)));
    await one.clock.advance(1000);
    await other.clock.advance(1000);
    expect(one.heard).toEqual(other.heard);
    expect(other.end()).toEqual({ kind: "closed" });
  });

  it("says after ten seconds that nothing is written, and when it goes on", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(4)));
    const { clock, silent } = viewer();
    await clock.advance(9_900);
    expect(silent).toEqual([]);
    await clock.advance(20_000);
    const last = silent.at(-1) ?? 0;
    expect(last).toBeGreaterThan(25_000);
    expect(last).toBeLessThanOrEqual(29_900);
    appendFileSync(path, bytes.subarray(endOf(4), endOf(5)));
    await clock.advance(600);
    expect(silent.at(-1)).toBeNull();
  });

  it("counts a torn line that goes on as being written", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(4)));
    const { clock, silent } = viewer();
    for (let at = 0; at < 30; at += 1) {
      appendFileSync(path, bytes.subarray(endOf(4) + at, endOf(4) + at + 1));
      await clock.advance(2000);
    }
    expect(silent).toEqual([]);
  });

  it("says at once of an old journal for how long nothing has been written", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(4)));
    const written = new Date("2026-03-01T10:00:00Z");
    utimesSync(path, written, written);
    const { clock, silent } = viewer({ wallStart: "2026-03-01T11:00:00.000+00:00" });
    await clock.advance(0);
    expect(silent).toEqual([3_600_000]);
  });

  it("ends when the file vanishes, after telling what was written before", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(4)));
    const { clock, heard, end } = viewer();
    await clock.advance(1000);
    appendFileSync(path, bytes.subarray(endOf(4), endOf(6)));
    rmSync(path);
    await clock.advance(1000);
    expect(heard).toEqual(inOrder(6));
    expect(end()).toEqual({ kind: "gone" });
  });

  it("does not go on in another file of the same name", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(4)));
    const { clock, heard, end } = viewer();
    await clock.advance(1000);
    writeFileSync(join(folder, "other"), bytes);
    renameSync(join(folder, "other"), path);
    await clock.advance(1000);
    expect(heard).toEqual(inOrder(4));
    expect(end()).toEqual({ kind: "gone" });
  });

  it("tells anew what the writer cut back and wrote again", async () => {
    const other = writeRun(healthyEvents.filter((_, index) => index !== 5)).bytes;
    writeFileSync(path, bytes.subarray(0, endOf(7)));
    const { clock, heard, retold } = viewer();
    await clock.advance(1000);
    // Shorter than what was seen.
    truncateSync(path, endOf(5));
    await clock.advance(1000);
    expect(retold()).toBe(1);
    expect(heard).toEqual(inOrder(5));
    // Cut back and grown beyond what was seen, between two looks.
    appendFileSync(path, bytes.subarray(endOf(5), endOf(7)));
    await clock.advance(1000);
    writeFileSync(path, other);
    await clock.advance(1000);
    expect(retold()).toBe(2);
    expect(heard).toEqual(inOrder(healthyEvents.length - 1));
  });

  it("stops at an altered line and names it", async () => {
    const altered = Buffer.from(bytes);
    altered[endOf(6) - 60] = 0x20;
    writeFileSync(path, altered);
    const { clock, heard, end, retold } = viewer();
    await clock.advance(1000);
    expect(heard).toEqual(inOrder(5));
    expect(end()).toMatchObject({ kind: "fault", error: { code: "JOURNAL_ALTERED", line: 6 } });
    expect(retold()).toBe(0);
  });

  it.each([
    ["another kind of file", "board: flasher-latch", "JOURNAL_NOT_A_JOURNAL"],
    ["one endless line", `{"n":0,"ms":${" ".repeat(4_300_000)}`, "JOURNAL_ALTERED"],
  ])("refuses %s", async (_, text, code) => {
    writeFileSync(path, text);
    const { clock, end } = viewer();
    await clock.advance(1000);
    expect(end()).toMatchObject({ kind: "fault", error: { code } });
  });

  it("names a file that is not there", async () => {
    const { clock, end } = viewer();
    await clock.advance(0);
    expect(end()).toMatchObject({ kind: "fault", error: { code: "JOURNAL_UNREADABLE" } });
  });

  it("reads no further than the one who is told takes", async () => {
    writeFileSync(path, bytes);
    const { clock, heard, end, setReady } = viewer({ ready: false });
    await clock.advance(20_000);
    expect(heard).toEqual([]);
    setReady(true);
    await clock.advance(1000);
    expect(end()).toEqual({ kind: "closed" });
  });

  it("takes a long journal up in pieces, however long a line in it is", async () => {
    const remark = (length: number): RunEvent => ({ kind: "remark", text: "x".repeat(length) });
    const remarks = [...Array.from({ length: 2000 }, () => remark(300)), remark(900_000)];
    const long = writeRun([...healthyEvents.slice(0, 5), ...remarks, ...healthyEvents.slice(5)]);
    writeFileSync(path, long.bytes);
    const { clock, heard, end } = viewer();
    const first = heard.length;
    await clock.advance(1000);
    expect(first).toBeGreaterThan(0);
    expect(first).toBeLessThan(1000);
    expect(heard).toEqual(inOrder(long.entries.length));
    expect(end()).toEqual({ kind: "closed" });
  });

  it("leaves when asked, and lets no timer stand", async () => {
    writeFileSync(path, bytes.subarray(0, endOf(4)));
    const { clock, control, end, done } = viewer();
    await clock.advance(1000);
    control.abort();
    await clock.advance(100);
    await done;
    expect(end()).toEqual({ kind: "left" });
    expect(clock.pendingTimers).toBe(0);
  });
});
