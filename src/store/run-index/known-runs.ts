/** Which journals the index was drawn from, by folder name and size. */
import type { RunIndex } from "./open-index.ts";

/** @returns bytes by run, of those that could be read and those that could not @throws IndexFault */
export function knownRuns(index: RunIndex): Promise<Map<string, number>> {
  return index.ask(async (db) => {
    const read = await db.selectFrom("runs").select(["run", "bytes"]).execute();
    const unreadable = await db.selectFrom("unreadable").select(["run", "bytes"]).execute();
    return new Map([...read, ...unreadable].map(({ run, bytes }) => [run, bytes]));
  });
}
