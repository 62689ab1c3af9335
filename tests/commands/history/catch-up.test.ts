/** The index follows what lies in the runs folder, however it came there. */
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { DatabaseSync } from "node:sqlite";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { catchUp } from "../../../src/commands/history/catch-up.ts";
import { indexEndedRuns } from "../../../src/commands/history/index-ended-runs.ts";
import { indexPath, openIndex } from "../../../src/store/run-index/open-index.ts";
import { healthyEvents, healthyUpTo } from "../../journal/latch-run.ts";
import { type RunsFolder, runsFolder } from "./runs-folder.ts";

let runs: RunsFolder;
beforeEach(() => {
  runs = runsFolder();
});
afterEach(() => {
  runs.remove();
});

async function caughtUp() {
  const index = await openIndex(runs.path);
  try {
    return await catchUp(index, runs.path);
  } finally {
    await index.close();
  }
}

function rows(statement: string): unknown[] {
  const database = new DatabaseSync(indexPath(runs.path), { readOnly: true });
  const found = database.prepare(statement).all();
  database.close();
  return found.map((row) => ({ ...row }));
}

describe("catchUp", () => {
  it("reads what is new once", async () => {
    runs.put("first", healthyEvents);
    runs.put("second", healthyEvents);
    expect(await caughtUp()).toEqual({ read: 2, unreadable: 0, gone: 0 });
    expect(await caughtUp()).toEqual({ read: 0, unreadable: 0, gone: 0 });
    expect(rows("select run, verdict from runs order by run")).toEqual([
      { run: "first", verdict: "pass" },
      { run: "second", verdict: "pass" },
    ]);
  });

  it("reads a journal that has grown again, and forgets one that is gone", async () => {
    runs.put(
      "first",
      healthyUpTo((event) => event.kind === "step-begun"),
    );
    runs.put("second", healthyEvents);
    await caughtUp();
    expect(rows("select seal from runs where run = 'first'")).toEqual([{ seal: "not closed" }]);
    runs.put("first", healthyEvents);
    rmSync(join(runs.path, "second"), { recursive: true });
    expect(await caughtUp()).toEqual({ read: 1, unreadable: 0, gone: 1 });
    expect(rows("select run, seal from runs")).toEqual([{ run: "first", seal: "closed" }]);
    expect(rows("select distinct run from results")).toEqual([{ run: "first" }]);
  });

  it("keeps a journal that cannot be trusted in the list, with why, and goes on", async () => {
    runs.put("first", healthyEvents);
    mkdirSync(join(runs.path, "spoilt"));
    writeFileSync(join(runs.path, "spoilt/journal.ndjson"), "not a journal\n");
    mkdirSync(join(runs.path, "no-run"));
    expect(await caughtUp()).toEqual({ read: 1, unreadable: 1, gone: 0 });
    expect(rows("select run, why from unreadable")).toEqual([
      { run: "spoilt", why: expect.stringContaining("Expected holdfast-journal in line 1") },
    ]);
  });
});

describe("indexEndedRuns", () => {
  it("puts the runs it is told of, and no others", async () => {
    runs.put("old", healthyEvents);
    runs.put("ended", healthyEvents);
    expect(await indexEndedRuns(runs.path, ["ended"])).toBeNull();
    expect(rows("select run from runs")).toEqual([{ run: "ended" }]);
  });

  it("says what is wrong with the index and throws nothing", async () => {
    runs.put("ended", healthyEvents);
    writeFileSync(indexPath(runs.path), "not a database ".repeat(100));
    const said = await indexEndedRuns(runs.path, ["ended"]);
    expect(said).toMatch(/The run stands.*is damaged/);
  });
});
