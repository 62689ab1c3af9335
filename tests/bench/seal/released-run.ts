/** A run made by the program as a person starts it, released and sealed, in a folder of its own. */
import { execFile } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { promisify } from "node:util";

const root = resolve(import.meta.dirname, "../../..");
const run = promisify(execFile);

export interface ReleasedRun {
  /** The sealed set. */
  readonly folder: string;
  readonly keys: string;
  readonly verdict: string;
  dispose(): void;
}

export async function releasedRun(board: string, seed: number): Promise<ReleasedRun> {
  const place = mkdtempSync(join(tmpdir(), "holdfast-released-"));
  const runs = join(place, "runs");
  const keys = join(place, "keys");
  await holdfast(["key", "make", "bench", "--keys", keys]);
  await holdfast([
    ...["prove", `sequences/${board}`, "--modelled", "--plain", "--yes"],
    ...["--seed", String(seed), "--unit", `FL-${seed}`, "--runs", runs],
  ]);
  const name = readdirSync(runs).find((one) => /^\d{4}-.*-/.test(one) && !one.includes("."));
  if (name === undefined) throw new Error(`no run of ${board} was made`);
  const folder = join(runs, name);
  const released = await holdfast(["release", folder, "--by", "A. Keeper", "--keys", keys]);
  return {
    folder: join(folder, "released-1"),
    keys,
    verdict: /is released: ([A-Z ]+),/.exec(released)?.[1] ?? "none",
    dispose: () => rmSync(place, { recursive: true, force: true }),
  };
}

/** @returns standard output @throws when it leaves another status than 0 */
async function holdfast(args: readonly string[]): Promise<string> {
  const { stdout } = await run(process.execPath, ["--import", "tsx", "src/main.ts", ...args], {
    cwd: root,
  });
  return stdout;
}
