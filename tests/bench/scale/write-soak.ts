/** A journal of a soak with so many cycles, sealed line by line, as a process of its own: `CYCLES FILE`. */
import { closeSync, openSync, writeSync } from "node:fs";
import { HASH_OF_NOTHING, lineOf, sha256Hex } from "../../../src/journal/line.ts";
import { soakEvents } from "../../journal/soak-events.ts";

/** One cycle in a hundred goes wrong. */
const WRONG_EVERY = 100;
const PIECE_LETTERS = 1024 * 1024;

const [cycles = "", path = ""] = process.argv.slice(2);
const file = openSync(path, "wx");
let before = HASH_OF_NOTHING;
let n = 0;
let waiting = "";
const shape = { cycles: Number(cycles), wrongEvery: WRONG_EVERY, driftV: 2 };
for (const { ms, event } of soakEvents(shape)) {
  const line = lineOf({ n, ms, before, event });
  before = sha256Hex(line);
  n += 1;
  waiting += line;
  if (waiting.length < PIECE_LETTERS) continue;
  writeSync(file, waiting);
  waiting = "";
}
writeSync(file, waiting);
closeSync(file);
