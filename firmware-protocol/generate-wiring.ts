/**
 * The wiring of every shipped rig as a picture beside the wiring page, drawn from its rig file.
 *
 *   node --import tsx firmware-protocol/generate-wiring.ts
 */
import { readdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { loadProof } from "../src/commands/proof-folder.ts";
import { wiringSvg } from "../src/pictures/svg-wiring.ts";

const sequences = resolve(import.meta.dirname, "../sequences");
for (const board of readdirSync(sequences).sort()) {
  const loaded = await loadProof(join(sequences, board));
  if (!loaded.ok)
    throw new Error(`${board}: ${loaded.problems.map((one) => one.reason).join("; ")}`);
  writeFileSync(join(import.meta.dirname, `wiring/${board}.svg`), wiringSvg(loaded.proof));
}
