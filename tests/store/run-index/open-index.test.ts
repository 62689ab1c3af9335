/** The file of the index: what it is held to, and every way it can be something else. */
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { DatabaseSync } from "node:sqlite";
import { sql } from "kysely";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { IndexFault } from "../../../src/store/run-index/index-fault.ts";
import { knownFiles } from "../../../src/store/run-index/known-files.ts";
import { SCHEMA_VERSION } from "../../../src/store/run-index/migrations.ts";
import { indexPath, openIndex, setIndexAside } from "../../../src/store/run-index/open-index.ts";
import { changeIndex } from "../../../src/store/run-index/put-run.ts";
import { factsOf } from "./facts-of.ts";

let runs = "";
beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "holdfast-index-"));
});
afterEach(() => {
  rmSync(runs, { recursive: true, force: true });
});

async function faultAtOpening(): Promise<IndexFault> {
  try {
    const index = await openIndex(runs, { busyMs: 0 });
    await index.close();
  } catch (error) {
    if (error instanceof IndexFault) return error;
    throw error;
  }
  throw new Error("Expected the index to be refused, it was opened.");
}

async function withTwoRuns(): Promise<void> {
  const index = await openIndex(runs);
  const facts = [factsOf({ run: "first" }, "LV-T031"), factsOf({ run: "second" }, "LV-T032")];
  await changeIndex(index, { runs: facts, unreadable: [], gone: [] });
  await index.close();
}

function edit(statement: string): void {
  const database = new DatabaseSync(indexPath(runs));
  database.exec(statement);
  database.close();
}

describe("openIndex", () => {
  it("makes a file in WAL, with full sync and foreign keys, and says its age", async () => {
    const index = await openIndex(runs);
    expect(index.cameFrom).toBe(0);
    const asked = async (name: string) =>
      Object.values(
        (await index.ask((db) => sql.raw<object>(`pragma ${name}`).execute(db))).rows[0] ?? {},
      )[0];
    expect(await asked("journal_mode")).toBe("wal");
    // 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    expect(await asked("synchronous")).toBe(2);
    expect(await asked("foreign_keys")).toBe(1);
    expect(await asked("user_version")).toBe(SCHEMA_VERSION);
    await index.close();
  });

  it("finds in a file what was put there, and SQLite itself finds nothing wrong with it", async () => {
    await withTwoRuns();
    const index = await openIndex(runs);
    expect([...(await knownFiles(index)).runs.keys()].sort()).toEqual(["first", "second"]);
    await index.close();
    const database = new DatabaseSync(indexPath(runs), { readOnly: true });
    expect(database.prepare("pragma integrity_check").get()).toEqual({ integrity_check: "ok" });
    expect(database.prepare("pragma foreign_key_check").all()).toEqual([]);
    database.close();
  });

  it("refuses a file of a later version by name and leaves it as it is", async () => {
    await withTwoRuns();
    edit("pragma user_version = 99");
    const before = readFileSync(indexPath(runs));
    const fault = await faultAtOpening();
    expect(fault.code).toBe("INDEX_NEWER");
    expect(fault.message).toContain("version 99");
    expect(readFileSync(indexPath(runs)).equals(before)).toBe(true);
  });

  it("refuses a database of another program and writes nothing to it", async () => {
    edit("create table letters (letter text)");
    const before = readFileSync(indexPath(runs));
    expect((await faultAtOpening()).code).toBe("INDEX_FOREIGN");
    expect(readFileSync(indexPath(runs)).equals(before)).toBe(true);
  });

  it("tells a file that is no database from one that can be used", async () => {
    writeFileSync(indexPath(runs), "a shopping list\n".repeat(100));
    expect((await faultAtOpening()).code).toBe("INDEX_DAMAGED");
  });

  it("tells a spoilt page when it comes to it", async () => {
    await withTwoRuns();
    const bytes = readFileSync(indexPath(runs));
    // The first page says what the file is; every other one is spoilt.
    bytes.fill(0xa5, 4096);
    writeFileSync(indexPath(runs), bytes);
    const used = openIndex(runs).then((index) => knownFiles(index).finally(() => index.close()));
    await expect(used).rejects.toMatchObject({ code: "INDEX_DAMAGED" });
  });

  it("tells a file that another program keeps", async () => {
    await withTwoRuns();
    const other = new DatabaseSync(indexPath(runs));
    other.exec("begin immediate");
    const index = await openIndex(runs, { busyMs: 0 });
    const change = { runs: [factsOf({ run: "third" }, "LV-T033")], unreadable: [], gone: [] };
    await expect(changeIndex(index, change)).rejects.toMatchObject({ code: "INDEX_LOCKED" });
    other.exec("commit");
    other.close();
    await changeIndex(index, change);
    expect((await knownFiles(index)).runs.size).toBe(3);
    await index.close();
  });

  it("tells a folder that is not there", async () => {
    rmSync(runs, { recursive: true });
    expect((await faultAtOpening()).code).toBe("INDEX_NOT_WRITABLE");
  });

  it("puts a damaged file aside with its log, so that a new one starts empty", async () => {
    await withTwoRuns();
    copyFileSync(indexPath(runs), `${indexPath(runs)}-wal`);
    const aside = setIndexAside(runs);
    expect(readFileSync(aside).length).toBeGreaterThan(0);
    const index = await openIndex(runs);
    expect((await knownFiles(index)).runs).toEqual(new Map());
    await index.close();
  });
});

describe("changeIndex", () => {
  it("puts a run again in its own place, and forgets units and tubes that no run names", async () => {
    await withTwoRuns();
    const index = await openIndex(runs);
    const again = factsOf({ run: "first", unit: "LV-13", bytes: 7 }, "LV-T040");
    await changeIndex(index, { runs: [again], unreadable: [], gone: ["second"] });
    expect((await knownFiles(index)).runs).toEqual(new Map([["first", null]]));
    expect(await index.ask((db) => db.selectFrom("tubes").selectAll().execute())).toEqual([
      { serial: "LV-T040" },
    ]);
    expect(await index.ask((db) => db.selectFrom("units").selectAll().execute())).toEqual([
      { unit: "LV-13", board: "flasher-latch" },
    ]);
    await index.close();
  });

  it("leaves everything as it was when one row is refused", async () => {
    await withTwoRuns();
    const index = await openIndex(runs);
    const twice = factsOf({ run: "third" }, "LV-T033");
    const change = { runs: [twice, twice], unreadable: [], gone: ["first"] };
    await expect(changeIndex(index, change)).rejects.toThrow(/UNIQUE/);
    expect([...(await knownFiles(index)).runs.keys()].sort()).toEqual(["first", "second"]);
    await index.close();
  });
});
