/**
 * Sealed sets of runs made here, tampered with by chance, a byte or a structure at a time: each change
 * is found and its place named. Sets that nobody touched verify.
 */
import { verifySet } from "../../src/record/seal/verify-set.ts";
import { openSetFolder } from "../../src/store/set-folder.ts";
import { filesOf } from "../record/seal/memory-set.ts";
import type { FigureContext } from "./figure.ts";
import { releasedRun } from "./seal/released-run.ts";
import { type Contents, tamper } from "./seal/tamper-changes.ts";
import { seededChance } from "./seeded-chance.ts";

const QUICK = 1200;
const FULL = 5000;
const SETS = ["flasher-latch", "fog-divider"] as const;
const UNTOUCHED = 25;
const SEED = 20_261_127;
/** More misses than this tell nothing new. */
const TOLD_MAX = 20;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const count = full ? FULL : QUICK;
  let found = 0;
  let placed = 0;
  let untouched = 0;
  const missed: string[] = [];
  for (const [index, board] of SETS.entries()) {
    const contents = await contentsOf(board, index + 1);
    for (let turn = 0; turn < UNTOUCHED; turn += 1) {
      if ((await findings(contents)).length === 0) untouched += 1;
    }
    for (let turn = 0; turn < count / SETS.length; turn += 1) {
      const {
        what,
        contents: now,
        isPlace,
      } = tamper(contents, seededChance(`${SEED} ${board} ${turn}`));
      const said = await findings(now);
      if (said.length > 0) found += 1;
      if (said.length > 0 && said.every(isPlace)) placed += 1;
      else
        missed.push(
          `${board} ${turn}: ${what}: ${said.map(({ text }) => text).join(" ") || "nothing"}`,
        );
    }
    say(`${board}: ${count / SETS.length} changes`);
  }
  for (const one of missed.slice(0, TOLD_MAX)) say(one);
  const all = SETS.length * UNTOUCHED;
  report({
    name: "tamper found",
    value: found,
    unit: `of ${count} changes`,
    limit: `= ${count}`,
    holds: found === count,
  });
  report({
    name: "tamper placed",
    value: placed,
    unit: `of ${count} changes`,
    limit: `= ${count}`,
    holds: placed === count,
  });
  report({
    name: "tamper untouched sets verify",
    value: untouched,
    unit: `of ${all}`,
    limit: `= ${all}`,
    holds: untouched === all,
  });
}

async function contentsOf(board: string, seed: number): Promise<Contents> {
  const run = await releasedRun(board, seed);
  try {
    const files = openSetFolder(run.folder);
    return new Map(files.names.map((name) => [name, Buffer.concat([...files.pieces(name)])]));
  } finally {
    run.dispose();
  }
}

async function findings(contents: Contents) {
  return (await verifySet(filesOf(contents), { known: [] })).findings;
}
