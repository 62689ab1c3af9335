/** The screen on a real pseudo-terminal, looking on at a journal that stands still. */
import { appendFileSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { foldJournal } from "../../src/journal/fold.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";
import { expectedGrid } from "./expected-grid.tsx";
import { hasTerminals, OnTerminal } from "./on-terminal.ts";

const { bytes, entries } = writeRun(healthyEvents);
const cutAt = entries.findIndex(({ event }) => event.kind === "hold-progress") + 1;
const run = foldJournal(entries.slice(0, cutAt));
const cutBytes = bytes.subarray(0, nthLineEnd(cutAt));

function nthLineEnd(count: number): number {
  let at = 0;
  for (let line = 0; line < count; line += 1) at = bytes.indexOf(0x0a, at) + 1;
  return at;
}

let folder = "";
let path = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-terminal-"));
  path = join(folder, "journal.ndjson");
  writeFileSync(path, cutBytes);
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

const follow = (size: { columns: number; rows: number }, ...more: string[]) =>
  new OnTerminal(["follow", path, ...more], size);

describe.skipIf(!hasTerminals)("the screen on a terminal", () => {
  it("stands as it was drawn after every resize, and leaves no line of an older size", async () => {
    const terminal = follow({ columns: 100, rows: 30 });
    const view = { seat: "looking on" } as const;
    try {
      const sizes = [
        [100, 30],
        [132, 43],
        [80, 24],
        [60, 20],
        [120, 24],
        [20, 10],
        [3, 2],
        [80, 24],
      ] as const;
      for (const [turn, [columns, rows]] of sizes.entries()) {
        // A byte of the next line: nothing new to show, but no silence either on a slow machine.
        appendFileSync(path, bytes.subarray(cutBytes.length + turn, cutBytes.length + turn + 1));
        const size = { columns, rows };
        if (turn > 0) terminal.resize(size);
        const wanted = expectedGrid(run, size, view);
        await terminal.until(() => terminal.grid().join("\n") === wanted.join("\n"));
      }
    } finally {
      await terminal.dispose();
    }
  });

  it("gives the terminal back at the end, with the picture and the words on it", async () => {
    const terminal = follow({ columns: 100, rows: 30 });
    try {
      await terminal.until(() => terminal.isAlternate && terminal.grid().join("").includes("Log"));
      appendFileSync(path, bytes.subarray(cutBytes.length));
      expect(await terminal.exited).toBe(0);
      expect(terminal.isAlternate).toBe(false);
      const left = terminal.grid().join("\n");
      expect(left).toContain("PASS: ");
      expect(left).toContain("Next: ");
      expect(terminal.bells).toBe(1);
    } finally {
      await terminal.dispose();
    }
  });

  it("passes over a key that is stuck, and leaves by q", async () => {
    const terminal = follow({ columns: 80, rows: 24 }, "--mute");
    try {
      await terminal.until(() => terminal.grid().join("").includes("Looking on"));
      terminal.press("s".repeat(300));
      await terminal.until(() => terminal.grid().join(" ").includes("no key here reaches the run"));
      terminal.press("q");
      expect(await terminal.exited).toBe(4);
      expect(terminal.isAlternate).toBe(false);
      expect(terminal.bells).toBe(0);
    } finally {
      await terminal.dispose();
    }
  });
});
