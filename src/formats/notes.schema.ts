/**
 * `holdfast-notes`: what no run can show: why a tube was taken out, how it did on a tester, and which run a
 * unit is to be held against. One such file lies beside the runs, called notes.yaml.
 */
import { z } from "zod";
import { DAY_PATTERN } from "./calibration.schema.ts";
import { type LoadResult, loadDocument } from "./load-document.ts";
import { lineField, nameField } from "./schema-parts.ts";

/** Longest name of a run's folder. */
const RUN_LENGTH_MAX = 120;
const KINDS = ["removed", "retest", "note"] as const;

const tubeNoteSchema = z
  .strictObject({
    date: z.string().regex(DAY_PATTERN, "a date such as 2026-05-01").describe("Day of it."),
    removed: lineField("Why it was taken out.").optional(),
    retest: lineField("What a tester, or another socket, showed.").optional(),
    found: z.enum(["good", "weak"]).describe("What the retest says of it.").optional(),
    note: lineField("Anything else.").optional(),
    unit: lineField("Unit it was taken out of or put into.", 40).optional(),
    position: nameField("Socket of that unit, such as V1.").optional(),
    by: lineField("Initials of who did it.", 12).optional(),
  })
  .refine(
    (entry) => KINDS.filter((kind) => entry[kind] !== undefined).length === 1,
    "expected one of `removed`, `retest` and `note`",
  )
  .refine(
    ({ found, retest }) => found === undefined || retest !== undefined,
    "`found` goes with a `retest`",
  )
  .describe("One thing that happened to a tube.");

export const notesSchema = z
  .strictObject({
    format: z.literal("holdfast-notes").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    baselines: z
      .array(
        z
          .strictObject({
            run: lineField("Folder of the run.", RUN_LENGTH_MAX),
            note: lineField("Why this one.").optional(),
          })
          .describe("A run that its unit is held against."),
      )
      .max(10_000)
      .describe("Of two runs of one unit the later in this list counts.")
      .optional(),
    tubes: z
      .record(
        lineField("Serial of the tube.", 40),
        z.array(tubeNoteSchema).max(1000).describe("Oldest first."),
      )
      .describe("Tubes by serial.")
      .optional(),
  })
  .describe("Notes of a person on runs and tubes.");

export type Notes = z.infer<typeof notesSchema>;
export type TubeNote = z.infer<typeof tubeNoteSchema>;

/** Text of a file of notes to notes, or every problem in it. */
export function loadNotes(text: string, fileName: string): LoadResult<Notes> {
  return loadDocument(text, fileName, notesSchema);
}
