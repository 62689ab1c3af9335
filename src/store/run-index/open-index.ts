/**
 * The file of the index: opened, checked to be what it says, and brought to this program's schema. It lies
 * beside the runs it is drawn from. Losing it loses nothing.
 */
import { renameSync, rmSync } from "node:fs";
import { join } from "node:path";
import { DatabaseSync } from "node:sqlite";
import { Kysely, sql, type Transaction } from "kysely";
import { BUSY_MS, damaged, faultOf, IndexFault } from "./index-fault.ts";
import { APPLICATION_ID, migrate, SCHEMA_VERSION } from "./migrations.ts";
import { NodeSqliteDialect } from "./sqlite-dialect.ts";
import type { RunTables } from "./tables.ts";

const FILE_NAME = "holdfast-index.sqlite";

export function indexPath(runsFolder: string): string {
  return join(runsFolder, FILE_NAME);
}

/** An open index. What is asked of it and changed in it stands in this folder and nowhere else. */
export interface RunIndex {
  readonly path: string;
  /** Age of the file before it was opened; 0 for one that was made now. */
  readonly cameFrom: number;
  /** @throws IndexFault */
  ask<Answer>(question: (db: Kysely<RunTables>) => Promise<Answer>): Promise<Answer>;
  /** All of it or nothing. @throws IndexFault */
  change(work: (db: Transaction<RunTables>) => Promise<void>): Promise<void>;
  close(): Promise<void>;
}

export interface IndexPlace {
  /** `in memory`: for one answer, where nothing can be written. */
  readonly kept?: "on disk" | "in memory";
  /** How long to wait for another program, ms. */
  readonly busyMs?: number;
}

/**
 * Open the index of a folder of runs, or make an empty one.
 *
 * @throws IndexFault
 */
export async function openIndex(
  runsFolder: string,
  { kept = "on disk", busyMs = BUSY_MS }: IndexPlace = {},
): Promise<RunIndex> {
  const path = kept === "on disk" ? indexPath(runsFolder) : ":memory:";
  let database: DatabaseSync | null = null;
  try {
    database = new DatabaseSync(path, { timeout: busyMs, enableForeignKeyConstraints: true });
    const cameFrom = requireOwn(database, path);
    if (kept === "on disk") requireDurable(database, path);
    const db = new Kysely<RunTables>({ dialect: new NodeSqliteDialect(database) });
    if (cameFrom < SCHEMA_VERSION) await bringUp(db);
    return {
      path,
      cameFrom,
      ask: (question) => orFault(path, question(db)),
      change: (work) => orFault(path, db.transaction().execute(work)),
      close: () => db.destroy(),
    };
  } catch (error) {
    if (database?.isOpen === true) database.close();
    throw faultOf(error, path);
  }
}

async function orFault<Answer>(path: string, answer: Promise<Answer>): Promise<Answer> {
  try {
    return await answer;
  } catch (error) {
    throw faultOf(error, path);
  }
}

/**
 * Put a damaged file out of the way, so that a new one can be made of the runs. An older one that was put
 * aside makes room.
 *
 * @returns where it lies now @throws the system's error
 */
export function setIndexAside(runsFolder: string): string {
  const path = indexPath(runsFolder);
  const aside = `${path}.damaged`;
  renameSync(path, aside);
  // Left in place they would be taken for those of the new file.
  for (const suffix of ["-wal", "-shm"]) rmSync(`${path}${suffix}`, { force: true });
  return aside;
}

/** @returns the age of the file @throws IndexFault when it is another program's, or a newer one's */
function requireOwn(database: DatabaseSync, path: string): number {
  const version = pragma(database, "user_version");
  const id = pragma(database, "application_id");
  const tables = database.prepare("select count(*) as n from sqlite_schema").get()?.["n"];
  if (version === 0 && id === 0 && tables === 0) return 0;
  if (id !== APPLICATION_ID) {
    throw new IndexFault(
      "INDEX_FOREIGN",
      path,
      `Expected an index of runs in ${path}, but it is a database of another program. Move it away; nothing was written to it.`,
    );
  }
  if (typeof version !== "number" || version < 1) throw damaged(path, "it does not say its age");
  if (version > SCHEMA_VERSION) {
    throw new IndexFault(
      "INDEX_NEWER",
      path,
      `Expected an index of version ${SCHEMA_VERSION} or older, ${path} is of version ${version}. Use a newer holdfast for it; nothing was written to it.`,
    );
  }
  return version;
}

/** Asked for and read back: a file system that cannot share memory, or an odd build, answers otherwise. */
function requireDurable(database: DatabaseSync, path: string): void {
  database.exec("pragma journal_mode = wal");
  database.exec("pragma synchronous = full");
  const wanted = { journal_mode: "wal", synchronous: 2, foreign_keys: 1 } as const;
  for (const [name, value] of Object.entries(wanted)) {
    const found = pragma(database, name);
    if (found === value) continue;
    throw new IndexFault(
      "INDEX_NOT_DURABLE",
      path,
      `Expected ${name} ${value} of the index ${path}, got ${String(found)}. Keep the runs on a local disk.`,
    );
  }
}

/** Two programs may both find an old file: who comes second finds it done. */
async function bringUp(db: Kysely<RunTables>): Promise<void> {
  await db.transaction().execute(async (inside) => {
    const found = await sql<{ user_version: number }>`pragma user_version`.execute(inside);
    const from = found.rows[0]?.user_version ?? 0;
    if (from >= SCHEMA_VERSION) return;
    await migrate(inside, from);
    await sql.raw(`pragma user_version = ${SCHEMA_VERSION}`).execute(inside);
  });
}

function pragma(database: DatabaseSync, name: string): unknown {
  return database.prepare(`pragma ${name}`).get()?.[name];
}
