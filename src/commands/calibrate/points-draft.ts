/** What was measured so far, kept after every point, so that nothing is lost by a stop. */
import { existsSync, mkdirSync, rmSync } from "node:fs";
import { dirname } from "node:path";
import { z } from "zod";
import {
  CHANNEL_NAME_PATTERN,
  meterSchema,
  pointFields,
} from "../../formats/calibration.schema.ts";
import { loadDocument } from "../../formats/load-document.ts";
import { problemLines } from "../../formats/problem.ts";
import { titleNameField } from "../../formats/schema-parts.ts";
import { writeFileAtomically } from "../../store/atomic-file.ts";
import { readProofFile } from "../read-proof-file.ts";
import { UsageError } from "../usage-error.ts";

const draftSchema = z.strictObject({
  format: z.literal("holdfast-calibration-draft").describe("Name of this format."),
  version: z.literal(1).describe("Version of this format."),
  rig: titleNameField("Name of the rig."),
  rigSha256: z.string().describe("SHA-256 of the rig file then, hex."),
  meter: meterSchema,
  points: z
    .record(z.string().regex(CHANNEL_NAME_PATTERN), z.array(z.strictObject(pointFields)).max(100))
    .describe("Points by channel."),
});

export type PointsDraft = Omit<z.infer<typeof draftSchema>, "format" | "version">;

/** @throws UsageError when it is no draft */
export async function loadDraft(path: string): Promise<PointsDraft> {
  const read = await readProofFile(path, "calibration");
  const loaded = read.ok ? loadDocument(read.file.text, path, draftSchema) : read;
  if (loaded.ok) return loaded.document.value;
  throw new UsageError(problemLines(loaded.problems).join("\n"));
}

export function keepDraft(path: string, draft: PointsDraft): void {
  if (!existsSync(dirname(path))) mkdirSync(dirname(path), { recursive: true });
  const document = { format: "holdfast-calibration-draft", version: 1, ...draft };
  writeFileAtomically(path, `${JSON.stringify(document, null, 1)}\n`);
}

export function dropDraft(path: string): void {
  rmSync(path, { force: true });
}
