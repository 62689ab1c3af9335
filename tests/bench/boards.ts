/**
 * Every shipped board proves as a person starts it, and the boards that came after the first two are
 * held to the same faults as those.
 */
import { execFile } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { faultCampaign } from "./fault-campaign.ts";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");

export async function figure(context: FigureContext): Promise<void> {
  const runs = mkdtempSync(join(tmpdir(), "holdfast-boards-"));
  try {
    const boards = readdirSync(join(root, "sequences")).sort();
    const statuses = await Promise.all(
      boards.map((board) => proved(join(root, "sequences", board), runs)),
    );
    for (const [index, board] of boards.entries()) {
      const status = statuses[index] ?? -1;
      context.report({
        name: `boards ${board} proves`,
        value: status,
        unit: "exit status",
        limit: "= 0",
        holds: status === 0,
      });
    }
  } finally {
    rmSync(runs, { recursive: true });
  }
  await faultCampaign(context, {
    name: "boards",
    boards: ["sector-latch", "watch-adder", "blast-ring"],
    whole: [],
    oneIn: 12,
    seeds: 4,
  });
}

function proved(folder: string, runs: string): Promise<number> {
  const program = ["--import", "tsx", "src/main.ts", "prove", folder, "--json", "--runs", runs];
  return new Promise((settled) => {
    const options = { cwd: root, maxBuffer: 64 * 1024 * 1024 };
    const child = execFile(process.execPath, program, options, () => settled(child.exitCode ?? -1));
  });
}
