/** Which files the index was drawn from, so that what has changed since can be told. */
import type { RunIndex } from "./open-index.ts";

/** Sizes of a run's journal and of the record beside it, bytes; null where there is no record. */
export interface RunSizes {
  readonly journal: number;
  readonly record: number | null;
}

/** Beside a journal that cannot be read nobody looks for a record. */
export interface KnownSizes {
  readonly journal: number;
  readonly record: number | null | "not looked at";
}

export interface KnownFiles {
  /** By run, of those that could be read and those that could not. */
  readonly runs: ReadonlyMap<string, KnownSizes>;
  /** Bytes of each kept check of a rig, by the run that made it. */
  readonly rigChecks: ReadonlyMap<string, number>;
  /** SHA-256 of the file of notes; null where there was none. */
  readonly notes: string | null;
}

/** @throws IndexFault */
export function knownFiles(index: RunIndex): Promise<KnownFiles> {
  return index.ask(async (db) => {
    const read = await db
      .selectFrom("runs")
      .leftJoin("records", "records.run", "runs.run")
      .select(["runs.run", "runs.bytes as journal", "records.bytes as record"])
      .execute();
    const unreadable = await db.selectFrom("unreadable").select(["run", "bytes"]).execute();
    const checks = await db.selectFrom("rigChecks").select(["run", "bytes"]).execute();
    const notes = await db.selectFrom("noteFiles").select("sha256").executeTakeFirst();
    return {
      runs: new Map<string, KnownSizes>([
        ...read.map(({ run, ...sizes }): [string, KnownSizes] => [run, sizes]),
        ...unreadable.map(({ run, bytes }): [string, KnownSizes] => [
          run,
          { journal: bytes, record: "not looked at" },
        ]),
      ]),
      rigChecks: new Map(checks.map(({ run, bytes }) => [run, bytes])),
      notes: notes?.sha256 ?? null,
    };
  });
}
