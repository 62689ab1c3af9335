/**
 * The installed program against bare Node: what its help costs over starting Node at all. Packed and
 * installed as a person would, then started in turn, so that both meet the same machine.
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");
const ROUNDS = 40;
const ROUNDS_FULL = 200;
/** The first starts read files from the disk and fill the compile cache. */
const WARMING_ROUNDS = 5;
const RATIO_MAX = 2;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-start-up-"));
  try {
    const npm = (...args: string[]) =>
      execFileSync("npm", args, { cwd: root, stdio: ["ignore", "ignore", "inherit"] });
    npm("run", "build");
    npm("pack", "--ignore-scripts", "--pack-destination", folder);
    const tarball = readdirSync(folder).find((name) => name.endsWith(".tgz"));
    if (tarball === undefined) throw new Error("npm packed nothing");
    npm(
      "install",
      "--global",
      "--prefix",
      folder,
      "--no-audit",
      "--no-fund",
      join(folder, tarball),
    );
    const installed = join(folder, "lib/node_modules/holdfast/bin/holdfast.cjs");
    const env = { ...process.env, NODE_COMPILE_CACHE: join(folder, "cache") };
    const timed = (args: readonly string[]): number => {
      const begun = performance.now();
      execFileSync(process.execPath, args, { env, stdio: "ignore" });
      return performance.now() - begun;
    };
    const bare: number[] = [];
    const help: number[] = [];
    const rounds = full ? ROUNDS_FULL : ROUNDS;
    for (let round = -WARMING_ROUNDS; round < rounds; round += 1) {
      const bareMs = timed(["-e", "0"]);
      const helpMs = timed([installed, "--help"]);
      if (round < 0) continue;
      bare.push(bareMs);
      help.push(helpMs);
    }
    const ratio = median(help) / median(bare);
    say(
      `median of ${rounds}: bare node ${median(bare).toFixed(1)} ms, --help ${median(help).toFixed(1)} ms`,
    );
    report({
      name: "start-up installed --help over bare node",
      value: Math.round(ratio * 100) / 100,
      unit: `ratio of medians, ${rounds} starts each in turn`,
      limit: `<= ${RATIO_MAX}`,
      holds: ratio <= RATIO_MAX,
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
}
