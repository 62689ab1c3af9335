import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { buildRecord } from "../../src/record/build-record.ts";
import { RecordNotWritten, writeRecord } from "../../src/record/write-record.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";

const record = buildRecord(writeRun(healthyEvents).entries);

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-record-"));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe("writeRecord", () => {
  it("leaves the record and nothing beside it", () => {
    const path = join(folder, "record.json");
    writeRecord(path, record);
    expect(JSON.parse(readFileSync(path, "utf8"))).toEqual(record);
    expect(readdirSync(folder)).toEqual(["record.json"]);
  });

  it("replaces an older record whole", () => {
    const path = join(folder, "record.json");
    writeFileSync(path, "x".repeat(200_000));
    writeRecord(path, record);
    expect(JSON.parse(readFileSync(path, "utf8")).format).toBe("holdfast-record");
  });

  it("that fails leaves what stood there, nothing beside it, and says what to do", () => {
    const path = join(folder, "record.json");
    mkdirSync(path);
    expect(() => writeRecord(path, record)).toThrow(RecordNotWritten);
    expect(readdirSync(folder)).toEqual(["record.json"]);
    const missing = join(folder, "none", "record.json");
    expect(() => writeRecord(missing, record)).toThrow(/journal beside it holds everything/);
    expect(existsSync(missing)).toBe(false);
  });
});
