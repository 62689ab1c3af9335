/** What the database itself finds wrong with its file. */
import { sql } from "kysely";
import type { RunIndex } from "./open-index.ts";

/** @returns a clause each; empty for a sound file @throws IndexFault */
export function wrongsOf(index: RunIndex): Promise<string[]> {
  return index.ask(async (db) => {
    const whole = await sql<{ integrity_check: string }>`pragma integrity_check`.execute(db);
    const loose = await sql<{ table: string }>`pragma foreign_key_check`.execute(db);
    return [
      ...whole.rows.map((row) => row.integrity_check).filter((found) => found !== "ok"),
      ...loose.rows.map(({ table }) => `a row of ${table} belongs to nothing`),
    ];
  });
}
