/** Write completions and manual page from the program's own facts: part of `npm run generate`. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { manualFiles } from "../src/commands/manual/manual-files.ts";

const root = resolve(import.meta.dirname, "..");
for (const { path, text } of manualFiles()) {
  const place = join(root, path);
  mkdirSync(join(place, ".."), { recursive: true });
  writeFileSync(place, text);
}
