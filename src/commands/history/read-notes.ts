/** The notes beside the runs, as the index is told of them. */
import { existsSync } from "node:fs";
import { join } from "node:path";
import { loadNotes, type Notes, type TubeNote } from "../../formats/notes.schema.ts";
import { problemLines } from "../../formats/problem.ts";
import type { IndexedNotes } from "../../store/run-index/put-beside.ts";
import type { TubeNoteRow } from "../../store/run-index/tables.ts";
import { readProofFile } from "../read-proof-file.ts";
import { UsageError } from "../usage-error.ts";

const NOTES_NAME = "notes.yaml";

export function notesPath(runsFolder: string): string {
  return join(runsFolder, NOTES_NAME);
}

/** @throws UsageError with every problem of the file */
export async function readNotes(runsFolder: string): Promise<IndexedNotes> {
  const path = notesPath(runsFolder);
  if (!existsSync(path)) return { file: null, tubes: [], baselines: [] };
  const read = await readProofFile(path, "notes");
  if (!read.ok) throw new UsageError(problemLines(read.problems).join("\n"));
  const loaded = loadNotes(read.file.text, path);
  if (!loaded.ok) throw new UsageError(problemLines(loaded.problems).join("\n"));
  const { value } = loaded.document;
  return {
    file: { file: NOTES_NAME, sha256: read.file.sha256 },
    tubes: tubeNotes(value),
    baselines: (value.baselines ?? []).map(({ run, note }, place) => ({
      run,
      place,
      note: note ?? null,
    })),
  };
}

function tubeNotes({ tubes }: Notes): TubeNoteRow[] {
  return Object.entries(tubes ?? {}).flatMap(([serial, notes]) =>
    notes.map((note, place) => ({
      serial,
      place,
      date: note.date,
      ...wordsOf(note),
      found: note.found ?? null,
      unit: note.unit ?? null,
      position: note.position ?? null,
      by: note.by ?? null,
    })),
  );
}

function wordsOf({ removed, retest, note }: TubeNote): Pick<TubeNoteRow, "kind" | "text"> {
  if (removed !== undefined) return { kind: "removed", text: removed };
  if (retest !== undefined) return { kind: "retest", text: retest };
  return { kind: "note", text: note ?? "" };
}
