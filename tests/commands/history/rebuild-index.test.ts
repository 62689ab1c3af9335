/** `rebuild-index`, and what any answer does about a file that is not as it should be. */
import { existsSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { DatabaseSync } from "node:sqlite";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { withFreshIndex } from "../../../src/commands/history/fresh-index.ts";
import { rebuildIndexCommand } from "../../../src/commands/rebuild-index.ts";
import { knownFiles } from "../../../src/store/run-index/known-files.ts";
import { indexPath } from "../../../src/store/run-index/open-index.ts";
import { healthyEvents } from "../../journal/latch-run.ts";
import { type RunsFolder, runsFolder } from "./runs-folder.ts";

let runs: RunsFolder;
let said: string[] = [];
let wrong: string[] = [];
const io = { out: (line: string) => said.push(line), error: (line: string) => wrong.push(line) };
beforeEach(() => {
  runs = runsFolder();
  said = [];
  wrong = [];
  runs.put("first", healthyEvents);
});
afterEach(() => {
  runs.remove();
});

const rebuild = () => rebuildIndexCommand(runs.path, io);
const namesKnown = () =>
  withFreshIndex(runs.path, io, async (index) => [...(await knownFiles(index)).runs.keys()]);

function edit(statement: string): void {
  const database = new DatabaseSync(indexPath(runs.path));
  database.exec(statement);
  database.close();
}

describe("rebuild-index", () => {
  it("draws the index from the files alone, whatever stood in it", async () => {
    await rebuild();
    edit("update runs set verdict = 'fail', bytes = bytes");
    said = [];
    expect(await rebuild()).toBe(0);
    expect(said).toEqual([expect.stringMatching(/: 1 runs\.$/)]);
    const database = new DatabaseSync(indexPath(runs.path));
    expect({ ...database.prepare("select verdict from runs").get() }).toEqual({ verdict: "pass" });
    database.close();
  });

  it("counts a journal that cannot be read apart", async () => {
    runs.put("cut", healthyEvents);
    writeFileSync(`${runs.path}/cut/journal.ndjson`, "");
    expect(await rebuild()).toBe(0);
    expect(said[0]).toContain("1 runs, and 1 whose journal cannot be read.");
  });

  it("leaves 2 for a file of a later version, and the file as it is", async () => {
    await rebuild();
    edit("pragma user_version = 99");
    expect(await rebuild()).toBe(2);
    expect(wrong).toEqual([expect.stringContaining("version 99")]);
  });

  it("leaves 2 where there is no folder of runs, and makes none", async () => {
    runs.remove();
    await expect(rebuild()).rejects.toThrow(/there is none. Make a run first/);
    expect(existsSync(runs.path)).toBe(false);
  });
});

describe("an answer", () => {
  it("is given from a new index where there was none, and says what it read", async () => {
    expect(await namesKnown()).toEqual(["first"]);
    expect(wrong).toEqual(["Index caught up with the runs: 1 new or changed."]);
    wrong = [];
    expect(await namesKnown()).toEqual(["first"]);
    expect(wrong).toEqual([]);
  });

  it("puts a damaged file aside, says so, and is given from the runs", async () => {
    writeFileSync(indexPath(runs.path), "not a database ".repeat(1000));
    expect(await namesKnown()).toEqual(["first"]);
    expect(wrong[0]).toContain("is damaged and is made again");
    expect(readdirSync(runs.path)).toContain("holdfast-index.sqlite.damaged");
  });

  it("is given from memory where the file's name is taken by a folder", async () => {
    runs.put("holdfast-index.sqlite/inside", healthyEvents);
    expect(await namesKnown()).toEqual(["first"]);
    expect(wrong[0]).toContain("drawn from the runs without it");
    rmSync(indexPath(runs.path), { recursive: true });
  });
});
