/**
 * `holdfast-settings`: what a person always wants, so that it need not be said each time. A port is
 * none of it: no proof goes to a live bench because of a file far away from it.
 */
import { z } from "zod";
import { type LoadResult, loadDocument } from "./load-document.ts";
import { lineField } from "./schema-parts.ts";

export const settingsSchema = z
  .strictObject({
    format: z.literal("holdfast-settings").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    runs: lineField("Folder for journals and records.", 400).optional(),
    ascii: z.boolean().describe("Draw with plain ASCII only.").optional(),
    colour: z.boolean().describe("Colour on the screen; NO_COLOR wins.").optional(),
    mute: z.boolean().describe("No bell.").optional(),
    word: z.enum(["tube", "valve"]).describe("What the bottles are called here.").optional(),
    initials: lineField("Who stands at this bench.", 12).optional(),
  })
  .describe("Settings of a person at one computer.");

export type Settings = Omit<z.infer<typeof settingsSchema>, "format" | "version">;

/** What the bottles are called. */
export type TubeWord = NonNullable<Settings["word"]>;

/** Settings file text to settings, or every problem in it. */
export function loadSettingsFile(
  text: string,
  fileName: string,
): LoadResult<z.infer<typeof settingsSchema>> {
  return loadDocument(text, fileName, settingsSchema);
}
