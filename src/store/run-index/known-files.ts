/** Which files the index was drawn from, so that what has changed since can be told. */
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
    const read = await db.selectFrom("runs").select(["run", "seal", "bytes"]).execute();
    for (const { run, seal, bytes } of read) {
      runs.set(run, seal === "closed" && bytes >= 0 ? null : bytes);
    }
    const unreadable = await db.selectFrom("unreadable").select(["run", "bytes"]).execute();
    for (const { run, bytes } of unreadable) runs.set(run, bytes);
    const checks = await db.selectFrom("rigChecks").select(["run", "bytes"]).execute();
    const notes = await db.selectFrom("noteFiles").select("sha256").executeTakeFirst();
    return {
      runs,
      rigChecks: new Map(checks.map(({ run, bytes }) => [run, bytes])),
      notes: notes?.sha256 ?? null,
    };
  });
}
