/** The index follows what lies in the runs folder, however it came there. */
import { copyFileSync, mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { DatabaseSync } from "node:sqlite";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { catchUp } from "../../../src/commands/history/catch-up.ts";
import { indexEndedRuns } from "../../../src/commands/history/index-ended-runs.ts";
import { keepRigCheck, type RigCheck } from "../../../src/store/rig-checks.ts";
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

function rows(statement: string): Record<string, unknown>[] {
  const database = new DatabaseSync(indexPath(runs.path), { readOnly: true });
  const found = database.prepare(statement).all();
  database.close();
  return found.map((row) => ({ ...row }));
}

/** Every row of every table, in an order of its own. */
function allTables(): unknown {
  const names = rows("select name from sqlite_schema where type = 'table' order by name");
  return names.map(({ name }) => [
    name,
    rows(`select * from "${String(name)}"`)
      .map((row) => JSON.stringify(Object.entries(row).sort()))
      .sort(),
  ]);
}

function golden(path: string): URL {
  return new URL(`../../golden/${path}`, import.meta.url);
}

const NOTES = `format: holdfast-notes
version: 1
baselines:
  - { run: first }
tubes:
  LV-T031:
    - { date: 2026-05-03, removed: low creeps up, unit: LV-12, position: V1, by: AB }
    - { date: 2026-05-04, retest: 9.6 mA, found: good }
`;

const rigCheck: RigCheck = {
  rig: "cabin-bench",
  board: "flasher-latch",
  rigSha256: "aa".repeat(32),
  controller: { serial: "0", firmware: "1.0" },
  at: "2026-05-01T10:00:00.000+00:00",
  run: "2026-05-01-100000-flasher-latch",
  fit: true,
  findings: [],
  facts: { depth: "full", looks: [], quiet: [], contacts: [], deadMan: null },
};

describe("catchUp", () => {
  it("reads what is new once", async () => {
    runs.put("first", healthyEvents);
    runs.put("second", healthyEvents);
    expect(await caughtUp()).toMatchObject({ read: 2, unreadable: 0, gone: 0 });
    expect(await caughtUp()).toMatchObject({ read: 0, unreadable: 0, gone: 0 });
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
    expect(await caughtUp()).toMatchObject({ read: 1, unreadable: 0, gone: 1 });
    expect(rows("select run, seal from runs")).toEqual([{ run: "first", seal: "closed" }]);
    expect(rows("select distinct run from results")).toEqual([{ run: "first" }]);
  });

  it("keeps a journal that cannot be trusted in the list, with why, and goes on", async () => {
    runs.put("first", healthyEvents);
    mkdirSync(join(runs.path, "spoilt"));
    writeFileSync(join(runs.path, "spoilt/journal.ndjson"), "not a journal\n");
    writeFileSync(join(runs.path, "spoilt/record.json"), "{}");
    mkdirSync(join(runs.path, "no-run"));
    expect(await caughtUp()).toMatchObject({ read: 1, unreadable: 1, gone: 0 });
    expect(await caughtUp()).toMatchObject({ read: 0, unreadable: 0, gone: 0 });
    expect(rows("select run, why from unreadable")).toEqual([
      { run: "spoilt", why: expect.stringContaining("Expected holdfast-journal in line 1") },
    ]);
  });
});

describe("what lies beside the runs", () => {
  it("is read with each record's own word on its journal, drafts and released ones", async () => {
    runs.put("first", healthyEvents);
    const body = {
      format: "holdfast-record",
      version: 2,
      status: "draft, not released",
      verdict: "pass",
      journal: { lastHash: "ab" },
    };
    writeFileSync(join(runs.path, "first/record.json"), JSON.stringify(body));
    await caughtUp();
    const asked = "select folder, status, version, journalHash from records order by folder";
    const draft = { folder: "", status: "draft, not released", version: 2, journalHash: "ab" };
    expect(rows(asked)).toEqual([draft]);
    mkdirSync(join(runs.path, "first/released-1"));
    const released = JSON.stringify({ ...body, status: "released" });
    writeFileSync(join(runs.path, "first/released-1/record.json"), released);
    mkdirSync(join(runs.path, "first/released-2"));
    writeFileSync(join(runs.path, "first/released-2/record.json"), "no record");
    await indexEndedRuns(runs.path, ["first"]);
    expect(rows(asked)).toEqual([
      draft,
      { ...draft, folder: "released-1", status: "released" },
      { folder: "released-2", status: "unreadable", version: null, journalHash: null },
    ]);
  });

  it("is kept of checks of rigs, and what cannot be read is said", async () => {
    keepRigCheck(runs.path, rigCheck);
    writeFileSync(join(runs.path, "other.rig-check.json"), "{}");
    const { said } = await caughtUp();
    expect(said).toEqual([expect.stringContaining("other.rig-check.json")]);
    expect(rows("select run, rig, depth, fit, findings from rigChecks")).toEqual([
      { run: rigCheck.run, rig: "cabin-bench", depth: "full", fit: "fit", findings: 0 },
    ]);
  });

  it("is kept of a person's notes, until they change", async () => {
    const notes = join(runs.path, "notes.yaml");
    writeFileSync(notes, NOTES);
    await caughtUp();
    expect(rows("select serial, place, kind, text, found from tubeNotes order by place")).toEqual([
      { serial: "LV-T031", place: 0, kind: "removed", text: "low creeps up", found: null },
      { serial: "LV-T031", place: 1, kind: "retest", text: "9.6 mA", found: "good" },
    ]);
    expect(rows("select run, note from baselines")).toEqual([{ run: "first", note: null }]);
    writeFileSync(notes, "format: holdfast-notes\nversion: 1\n");
    await caughtUp();
    expect(rows("select * from tubeNotes")).toEqual([]);
    rmSync(notes);
    await caughtUp();
    expect(rows("select * from noteFiles")).toEqual([]);
  });

  it("is refused at file, line and column when it cannot be understood", async () => {
    writeFileSync(join(runs.path, "notes.yaml"), NOTES.replace("removed:", "removd:"));
    await expect(caughtUp()).rejects.toThrow(/notes\.yaml:7:\d+: /);
  });
});

describe("an index of an older age", () => {
  it.each([1, 2, 3])(
    "version %i is brought up to this one and drawn from its journals again",
    async (version) => {
      for (const age of ["version-1", "version-2", "version-3"]) {
        mkdirSync(join(runs.path, age));
        copyFileSync(golden(`journal/${age}.ndjson`), join(runs.path, age, "journal.ndjson"));
      }
      copyFileSync(golden(`run-index/version-${version}.sqlite`), indexPath(runs.path));
      const index = await openIndex(runs.path);
      expect(index.cameFrom).toBe(version);
      expect(await catchUp(index, runs.path)).toMatchObject({ read: 3, gone: 0 });
      await index.close();
      const grown = allTables();
      rmSync(indexPath(runs.path));
      await caughtUp();
      expect(grown).toEqual(allTables());
    },
  );
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
