/** Which files the index was drawn from, so that what has changed since can be told. */
import { sql } from "kysely";
import type { RunIndex } from "./open-index.ts";

export interface KnownFiles {
  /**
   * By run: bytes of a journal that may still change, as one that is not closed or cannot be read; null of
   * a closed run, which is not looked at again.
   */
  readonly runs: ReadonlyMap<string, number | null>;
  /** Bytes of each kept check of a rig, by the run that made it. */
  readonly rigChecks: ReadonlyMap<string, number>;
  /** SHA-256 of the file of notes; null where there was none. */
  readonly notes: string | null;
}

/** @throws IndexFault */
export function knownFiles(index: RunIndex): Promise<KnownFiles> {
  return index.ask(async (db) => {
    const runs = new Map<string, number | null>();
    // Ten thousand names come sooner as one text than as so many rows; no folder has a slash in its name.
    const closed = await db
      .selectFrom("runs")
      .select(sql<string | null>`group_concat("run", '/')`.as("names"))
      .where("seal", "=", "closed")
      .where("bytes", ">=", 0)
      .executeTakeFirst();
    for (const run of closed?.names?.split("/") ?? []) runs.set(run, null);
    const open = await db
      .selectFrom("runs")
      .select(["run", "bytes"])
      .where(({ or, eb }) => or([eb("seal", "!=", "closed"), eb("bytes", "<", 0)]))
      .execute();
    const unreadable = await db.selectFrom("unreadable").select(["run", "bytes"]).execute();
    for (const { run, bytes } of [...open, ...unreadable]) runs.set(run, bytes);
    const checks = await db.selectFrom("rigChecks").select(["run", "bytes"]).execute();
    const notes = await db.selectFrom("noteFiles").select("sha256").executeTakeFirst();
    return {
      runs,
      rigChecks: new Map(checks.map(({ run, bytes }) => [run, bytes])),
      notes: notes?.sha256 ?? null,
    };
  });
}
