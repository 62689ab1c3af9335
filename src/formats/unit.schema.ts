/** `holdfast-unit`: one physical board: its tubes, and what was checked on it while it was cold. */
import { z } from "zod";
import { type LoadResult, loadDocument } from "./load-document.ts";
import { lineField, nameField, textField, titleNameField } from "./schema-parts.ts";

const UNIT_LENGTH_MAX = 40;

/** A line that may be left out, or be there and empty, as on a form. */
const blankField = (about: string, lengthMax: number) =>
  lineField(about, lengthMax).nullable().optional().describe(about);

const tubeSchema = z
  .strictObject({
    tube: lineField("Type of the tube in this socket, such as ECC82.", 24),
    serial: blankField("What tells this tube from another: its own mark, or a label.", 40),
    note: lineField("Anything worth knowing, such as where it came from.").optional(),
  })
  .describe("The tube in one socket.");

const coldCheckSchema = z
  .strictObject({
    check: lineField("What is to be measured or looked at, with the board cold and unplugged."),
    expect: lineField("What a sound board shows.").optional(),
    value: blankField("What this one showed; left out until it was done.", 60),
    by: blankField("Initials of who did it.", 12),
    date: z
      .string()
      .regex(/^\d{4}-\d{2}-\d{2}$/, "a date such as 2026-05-01")
      .describe("Day it was done.")
      .optional(),
  })
  .describe("One check of the cold board.");

export const unitSchema = z
  .strictObject({
    format: z.literal("holdfast-unit").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    unit: lineField("Serial of this one board.", UNIT_LENGTH_MAX),
    board: titleNameField("Type of board it is."),
    revision: lineField("Revision of that type.", 20),
    tubes: z
      .record(nameField("Socket of the board, such as V1."), tubeSchema)
      .describe("Tubes by socket."),
    coldChecks: z.array(coldCheckSchema).max(100).describe("Checks before the first power."),
    notes: textField("History of this unit.").optional(),
  })
  .describe("A unit: one physical board with its tubes and its cold checks.");

export type Unit = z.infer<typeof unitSchema>;

/** Unit file text to a unit, or every problem in it. */
export function loadUnit(text: string, fileName: string): LoadResult<Unit> {
  return loadDocument(text, fileName, unitSchema);
}
