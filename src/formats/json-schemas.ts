/** The file formats as JSON Schema (draft 2020-12), for editors and for readers in other languages. */
import { z } from "zod";
import { boardSchema } from "./board.schema.ts";
import { calibrationSchema } from "./calibration.schema.ts";
import { circuitSchema } from "./circuit.schema.ts";
import { notesSchema } from "./notes.schema.ts";
import { rigSchema } from "./rig.schema.ts";
import { scenarioSchema } from "./scenario.schema.ts";
import { sequenceSchema } from "./sequence.schema.ts";
import { settingsSchema } from "./settings.schema.ts";
import { unitSchema } from "./unit.schema.ts";

export interface PublishedSchema {
  /** Name of the file under shared/schemas/. */
  readonly fileName: string;
  /** Its text, ending with a line feed. */
  readonly text: string;
}

/** All published schemas; shared/schemas/generate.ts writes them, a test holds them current. */
export function publishedSchemas(): PublishedSchema[] {
  return [
    publish("holdfast-board", boardSchema),
    publish("holdfast-rig", rigSchema),
    publish("holdfast-sequence", sequenceSchema),
    publish("holdfast-circuit", circuitSchema),
    publish("holdfast-unit", unitSchema),
    publish("holdfast-scenario", scenarioSchema),
    publish("holdfast-calibration", calibrationSchema),
    publish("holdfast-notes", notesSchema),
    publish("holdfast-settings", settingsSchema),
  ];
}

function publish(format: string, schema: z.ZodObject): PublishedSchema {
  const { $schema, ...body } = z.toJSONSchema(schema, { target: "draft-2020-12", io: "input" });
  const fileName = `${format}.schema.json`;
  const document = { $schema, $id: fileName, title: format, ...body };
  return { fileName, text: `${JSON.stringify(document, null, 2)}\n` };
}
