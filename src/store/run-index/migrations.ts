/**
 * The schema of the index by its ages. A file tells its age in `user_version`; an older one is brought up
 * one age at a time, and what a new age wants to know of the runs is read from their journals again.
 */
import { type CreateTableBuilder, type Kysely, sql } from "kysely";
import type { RunTables } from "./tables.ts";

/** Schema this program writes. */
export const SCHEMA_VERSION = 4;

/** "HFix" as a big-endian number: what tells this file from another program's database. */
export const APPLICATION_ID = 0x48466978;

type Migration = (db: Kysely<RunTables>) => Promise<void>;

/** In order: the first makes version 1 of nothing, the next version 2 of that. */
const migrations: readonly Migration[] = [makeFirst, growToRecords, growToReleases, growToDrifts];

/** @param from age of the file; 0 for a new one */
export async function migrate(db: Kysely<RunTables>, from: number): Promise<void> {
  for (const [at, step] of migrations.entries()) {
    if (at >= from) await step(db);
  }
}

type Table = CreateTableBuilder<string, string>;

async function makeFirst(db: Kysely<RunTables>): Promise<void> {
  await db.schema
    .createTable("units")
    .addColumn("unit", "text", (column) => column.notNull())
    .addColumn("board", "text", (column) => column.notNull())
    .addPrimaryKeyConstraint("unitsKey", ["unit", "board"])
    .execute();
  await db.schema
    .createTable("tubes")
    .addColumn("serial", "text", (column) => column.primaryKey().notNull())
    .execute();
  const runs = texts(db.schema.createTable("runs"), ["mode", "seal", "verdict"]);
  const told = maybeTexts(
    runs.addColumn("run", "text", (c) => c.primaryKey().notNull()),
    ["cause", "firstMiss", "unit", "boardSha256", "sequenceSha256", "rigSha256", "closed"],
  );
  const named = texts(told, [
    "board",
    "revision",
    "sequence",
    "rig",
    "bench",
    "program",
    "rule",
    "uncertainty",
    "opened",
    "lastHash",
  ]);
  await counts(named, ["openedMs", "lengthMs", "journalVersion", "lines", "tornBytes", "bytes"])
    .addColumn("seed", "bigint")
    .addColumn("warmUpMs", "bigint")
    .addForeignKeyConstraint("runsUnit", ["unit", "board"], "units", ["unit", "board"])
    .execute();
  await db.schema
    .createIndex("runsOfUnit")
    .on("runs")
    .columns(["unit", "board", "openedMs"])
    .execute();
  await db.schema.createIndex("runsByTime").on("runs").column("openedMs").execute();
  await counts(texts(ofRun(db, "places"), ["position"]), ["heaterMs", "plateMs", "heaterOnlyMs"])
    .addColumn("tube", "text")
    .addColumn("serial", "text", (column) => column.references("tubes.serial"))
    .addPrimaryKeyConstraint("placesKey", ["run", "position"])
    .execute();
  await db.schema.createIndex("placesOfTube").on("places").column("serial").execute();
  await counts(texts(ofRun(db, "sections"), ["position", "section", "stage", "net"]), [
    "conductingMs",
    "cutOffMs",
  ])
    .addPrimaryKeyConstraint("sectionsKey", ["run", "stage"])
    .execute();
  await volts(
    counts(texts(ofRun(db, "results"), ["channel", "kind", "expected"]), [
      "count",
      "passed",
      "conditionallyPassed",
      "conditionallyFailed",
      "failed",
      "voided",
      "meanCount",
    ]),
    ["worstV", "limitV", "marginV", "worstExpandedV", "meanV", "sdV", "meanExpandedV"],
  )
    .addPrimaryKeyConstraint("resultsKey", ["run", "channel", "expected"])
    .execute();
  await counts(texts(ofRun(db, "soaks"), ["attendance"]), [
    "cycles",
    "wrong",
    "unjudged",
    "notKept",
    "powerCycles",
    "boardMs",
    "heaterMs",
    "cyclingMs",
    "repeats",
    "legs",
    "transient",
    "intermittent",
    "steady",
  ])
    .addPrimaryKeyConstraint("soaksKey", ["run"])
    .execute();
  await counts(texts(db.schema.createTable("unreadable"), ["why"]), ["bytes"])
    .addColumn("run", "text", (column) => column.primaryKey().notNull())
    .execute();
  await sql.raw(`pragma application_id = ${APPLICATION_ID}`).execute(db);
}

/** Version 2: calibrations, records, checks of rigs, and what a person wrote down. */
async function growToRecords(db: Kysely<RunTables>): Promise<void> {
  await texts(db.schema.createTable("calibrations"), ["rig", "date", "expires", "meter"])
    .addColumn("id", "text", (column) => column.primaryKey().notNull())
    .addColumn("celsius", "double precision")
    .execute();
  await db.schema
    .alterTable("runs")
    .addColumn("calibration", "text", (column) => column.references("calibrations.id"))
    .execute();
  await db.schema.alterTable("runs").addColumn("rigCheck", "text").execute();
  await counts(
    maybeTexts(texts(ofRun(db, "records"), ["status", "sha256"]), ["verdict", "journalHash"]),
    ["bytes"],
  )
    .addColumn("version", "bigint")
    .addPrimaryKeyConstraint("recordsKey", ["run"])
    .execute();
  await counts(
    texts(db.schema.createTable("rigChecks"), [
      "id",
      "rig",
      "board",
      "rigSha256",
      "at",
      "depth",
      "fit",
    ]),
    ["findings", "bytes"],
  )
    .addColumn("run", "text", (column) => column.primaryKey().notNull())
    .execute();
  await counts(
    maybeTexts(texts(db.schema.createTable("tubeNotes"), ["serial", "date", "kind", "text"]), [
      "found",
      "unit",
      "position",
      "by",
    ]),
    ["place"],
  )
    .addPrimaryKeyConstraint("tubeNotesKey", ["serial", "place"])
    .execute();
  await counts(maybeTexts(texts(db.schema.createTable("baselines"), ["run"]), ["note"]), ["place"])
    .addPrimaryKeyConstraint("baselinesKey", ["place"])
    .execute();
  await texts(db.schema.createTable("noteFiles"), ["file", "sha256"])
    .addPrimaryKeyConstraint("noteFilesKey", ["file"])
    .execute();
  await readAgain(db);
}

/** Version 3: released records beside the draft, and indexes that answer without the rows. */
async function growToReleases(db: Kysely<RunTables>): Promise<void> {
  await db.schema.dropTable("records").execute();
  await counts(
    maybeTexts(texts(ofRun(db, "records"), ["folder", "status", "sha256"]), [
      "verdict",
      "journalHash",
    ]),
    ["bytes"],
  )
    .addColumn("version", "bigint")
    .addPrimaryKeyConstraint("recordsKey", ["run", "folder"])
    .execute();
  await db.schema
    .createIndex("runsInShort")
    .on("runs")
    .columns(["unit", "board", "openedMs", "run", "mode", "seal"])
    .execute();
  await db.schema.createIndex("runsBySeal").on("runs").columns(["seal", "bytes", "run"]).execute();
  await readAgain(db);
}

/** Version 4: sections that a soak's drift was laid to. */
async function growToDrifts(db: Kysely<RunTables>): Promise<void> {
  await db.schema
    .alterTable("soaks")
    .addColumn("drift", "text", (column) => column.notNull().defaultTo("not judged"))
    .execute();
  await ["movedV", "ownSd", "hours"]
    .reduce(
      (table, name) => table.addColumn(name, "double precision", (column) => column.notNull()),
      texts(ofRun(db, "drifts"), ["position", "section", "net", "kind", "orElse"]),
    )
    .addColumn("levelV", "double precision")
    .addPrimaryKeyConstraint("driftsKey", ["run", "section", "net", "kind"])
    .execute();
  await readAgain(db);
}

/** No journal has this size, so each is found to be another than the one that was indexed. */
async function readAgain(db: Kysely<RunTables>): Promise<void> {
  await db.updateTable("runs").set({ bytes: -1 }).execute();
}

/** A table of things that go when their run goes. */
function ofRun(db: Kysely<RunTables>, name: string): Table {
  return db.schema
    .createTable(name)
    .addColumn("run", "text", (column) =>
      column.notNull().references("runs.run").onDelete("cascade"),
    );
}

function texts(table: Table, names: readonly string[]): Table {
  return names.reduce((all, name) => all.addColumn(name, "text", (c) => c.notNull()), table);
}

function maybeTexts(table: Table, names: readonly string[]): Table {
  return names.reduce((all, name) => all.addColumn(name, "text"), table);
}

function counts(table: Table, names: readonly string[]): Table {
  return names.reduce((all, name) => all.addColumn(name, "bigint", (c) => c.notNull()), table);
}

function volts(table: Table, names: readonly string[]): Table {
  return names.reduce((all, name) => all.addColumn(name, "double precision"), table);
}
