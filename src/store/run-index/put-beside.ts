/** What lies beside the runs, into the index: checks of rigs, and a person's notes. Few, so replaced whole. */
import type { RunIndex } from "./open-index.ts";
import type { BaselineRow, NoteFileRow, RigCheckRow, TubeNoteRow } from "./tables.ts";

/** @throws IndexFault */
export async function putRigChecks(index: RunIndex, checks: readonly RigCheckRow[]): Promise<void> {
  await index.change(async (db) => {
    await db.deleteFrom("rigChecks").execute();
    if (checks.length > 0)
      await db
        .insertInto("rigChecks")
        .values([...checks])
        .execute();
  });
}

export interface IndexedNotes {
  /** Null where there is no file of notes. */
  readonly file: NoteFileRow | null;
  readonly tubes: readonly TubeNoteRow[];
  readonly baselines: readonly BaselineRow[];
}

/** @throws IndexFault */
export async function putNotes(index: RunIndex, notes: IndexedNotes): Promise<void> {
  const { file, tubes, baselines } = notes;
  await index.change(async (db) => {
    await db.deleteFrom("tubeNotes").execute();
    await db.deleteFrom("baselines").execute();
    await db.deleteFrom("noteFiles").execute();
    if (tubes.length > 0)
      await db
        .insertInto("tubeNotes")
        .values([...tubes])
        .execute();
    if (baselines.length > 0)
      await db
        .insertInto("baselines")
        .values([...baselines])
        .execute();
    if (file !== null) await db.insertInto("noteFiles").values(file).execute();
  });
}

/** Everything out, so that all of it is drawn from the files again. @throws IndexFault */
export async function emptyIndex(index: RunIndex): Promise<void> {
  await index.change(async (db) => {
    await db.deleteFrom("runs").execute();
    await db.deleteFrom("unreadable").execute();
    await db.deleteFrom("units").execute();
    await db.deleteFrom("tubes").execute();
    await db.deleteFrom("calibrations").execute();
    await db.deleteFrom("rigChecks").execute();
    await db.deleteFrom("tubeNotes").execute();
    await db.deleteFrom("baselines").execute();
    await db.deleteFrom("noteFiles").execute();
  });
}
