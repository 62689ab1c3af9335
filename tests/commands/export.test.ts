import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { exportCommand } from "../../src/commands/export.ts";
import { pageCommand } from "../../src/commands/page.ts";
import { UsageError } from "../../src/commands/usage-error.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";
import { readCsv } from "../record/export/csv-reader.ts";
import { readVcd } from "../record/export/vcd-reader.ts";

const { bytes } = writeRun(healthyEvents);
let folder: string;
let run: string;
let said: string[];
const io = { out: (line: string) => said.push(line), error: (line: string) => said.push(line) };

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-export-"));
  run = join(folder, "run");
  mkdirSync(run);
  writeFileSync(join(run, "journal.ndjson"), bytes);
  said = [];
});
afterEach(() => rmSync(folder, { recursive: true }));

describe("holdfast export", () => {
  it("writes CSV and value change dump of a run in one reading of its journal", () => {
    const csv = join(folder, "readings.csv");
    const vcd = join(folder, "run.vcd");
    expect(exportCommand(run, { csv, vcd }, io)).toBe(0);
    expect(readCsv(readFileSync(csv, "utf8")).length).toBeGreaterThan(10);
    expect(readVcd(readFileSync(vcd, "utf8")).variables.length).toBeGreaterThan(10);
    expect(said).toEqual([`Written: ${csv}`, `Written: ${vcd}`]);
  });

  it("overwrites nothing, and leaves nothing of what it began", () => {
    const csv = join(folder, "readings.csv");
    const vcd = join(folder, "own.vcd");
    writeFileSync(vcd, "a person's own");
    expect(() => exportCommand(run, { csv, vcd }, io)).toThrow(UsageError);
    expect(readFileSync(vcd, "utf8")).toBe("a person's own");
    expect(existsSync(csv)).toBe(false);
  });

  it("leaves no half of a journal that does not hold, and names its line", () => {
    const broken = Buffer.from(bytes);
    const at = bytes.length - 500;
    broken[at] = (broken[at] ?? 0) ^ 1;
    writeFileSync(join(run, "journal.ndjson"), broken);
    const csv = join(folder, "readings.csv");
    expect(exportCommand(run, { csv }, io)).toBe(2);
    expect(said.join()).toMatch(/line \d+/);
    expect(existsSync(csv)).toBe(false);
  });

  it("asks what to write", () => {
    expect(() => exportCommand(run, {}, io)).toThrow(/--csv FILE, --vcd FILE/);
    expect(() => exportCommand(join(folder, "none"), { csv: "x" }, io)).toThrow(UsageError);
  });
});

describe("holdfast page", () => {
  it("makes the page of an old run anew, beside its journal or where it is asked to", () => {
    const journal = join(run, "journal.ndjson");
    expect(pageCommand(journal, {}, io)).toBe(0);
    const page = readFileSync(join(run, "record.html"), "utf8");
    expect(page).toContain("Verdict: pass");
    const to = join(folder, "elsewhere.html");
    expect(pageCommand(join(run, "record.html"), { to }, io)).toBe(0);
    expect(readFileSync(to, "utf8")).toBe(page);
  });

  it("makes none of a journal that does not hold", () => {
    writeFileSync(join(run, "journal.ndjson"), bytes.subarray(1));
    expect(pageCommand(run, {}, io)).toBe(2);
    expect(existsSync(join(run, "record.html"))).toBe(false);
  });
});
