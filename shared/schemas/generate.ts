/** Writes the JSON Schemas beside this file: `npx tsx shared/schemas/generate.ts`. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { publishedSchemas } from "../../src/formats/json-schemas.ts";

for (const { fileName, text } of publishedSchemas()) {
  writeFileSync(join(import.meta.dirname, fileName), text);
}
