/** Who asks for a run gets what was released of it, and its draft only as long as there is nothing else. */
import { copyFileSync, existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { readRecords } from "../../../src/commands/history/read-records.ts";
import { pageCommand } from "../../../src/commands/page.ts";
import { tellCommand } from "../../../src/commands/tell.ts";
import { openIndex } from "../../../src/store/run-index/open-index.ts";
import { runByName } from "../../../src/store/run-index/runs-of.ts";
import { Bench, eventsOf } from "./run-folder.ts";

let bench: Bench;
beforeEach(async () => {
  bench = new Bench();
  await bench.key("make", "cabin");
});
afterEach(() => {
  bench.dispose();
});

function told(path: string): string {
  const out: string[] = [];
  const status = tellCommand(
    path,
    {},
    { out: (line) => out.push(line), error: (line) => out.push(line) },
  );
  expect(status).toBe(0);
  return out.join("\n");
}

describe("a run of which a record was released", () => {
  it("is told and drawn as released, the newest correction first", async () => {
    expect(told(bench.run)).toContain("Status: draft, not released");
    await bench.release({ by: "Ada" });
    const first = join(bench.run, "released-1");
    expect(told(bench.run)).toContain("by Ada");
    await bench.release({ by: "Ben", corrects: first, why: "the unit was FL-08" });
    expect(told(bench.run)).toContain("by Ben");
    expect(told(first)).toContain("by Ada");
    expect(told(join(first, "record.json"))).toContain("by Ada");
  });

  it("has no page made over it, and one elsewhere as it was released", async () => {
    await bench.release({ by: "Ada" });
    const io = { out: () => undefined, error: () => undefined };
    expect(() => pageCommand(bench.run, {}, io)).toThrow(/released and sealed/);
    const place = join(bench.root, "again.html");
    pageCommand(bench.run, { to: place }, io);
    expect(readFileSync(place)).toEqual(readFileSync(join(bench.run, "released-1", "record.html")));
  });

  it("stands in the index beside the ones before it, and is put there when it is released", async () => {
    const runs = join(bench.root, "runs");
    await bench.release();
    const first = readRecords(runs, "first").at(-1);
    expect(first).toMatchObject({ folder: "released-1", version: 3, status: "released" });
    await bench.release({ corrects: join(bench.run, "released-1"), why: "a" });
    const second = readRecords(runs, "first").at(-1);
    expect(second).toMatchObject({ folder: "released-2", status: "released" });
    expect(second?.sha256).not.toBe(first?.sha256);
    const index = await openIndex(runs);
    expect((await runByName(index, "first"))?.record).toBe("released");
    await index.close();
  });

  it("is not told from a record that cannot be read: that is said", async () => {
    await bench.release();
    writeFileSync(join(bench.run, "released-1", "record.json"), "{}");
    const said: string[] = [];
    const io = { out: (line: string) => said.push(line), error: (line: string) => said.push(line) };
    expect(tellCommand(bench.run, {}, io)).toBe(2);
    expect(said.join()).toContain("Expected holdfast-record");
  });

  it("is told by its journal where the record beside it is of another", async () => {
    await bench.release({ by: "Ada" });
    const other = bench.makeRun("other", eventsOf("2026-05-02T10:02:41.000+00:00"));
    copyFileSync(join(bench.run, "released-1", "record.json"), join(other, "record.json"));
    expect(existsSync(join(other, "released-1"))).toBe(false);
    expect(told(other)).toContain("Status: draft, not released");
  });
});
