/** Every way a run can end leaves the board safe, judged by the bench's own log. */
import type { FigureContext } from "./figure.ts";
import { runPool } from "./pool.ts";
import { endings } from "./safe-ends/endings.ts";
import type { Case, CaseResult } from "./safe-ends/run-case.ts";

const SEEDS = 4;
const SEEDS_FULL = 20;
/** Host and bench wait more than they work at this pace, so more pairs than cores run at once. */
const PAIRS_AT_ONCE = 2;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const only = process.env["HOLDFAST_ENDING"];
  const count = Number(process.env["HOLDFAST_SEEDS"] ?? (full ? SEEDS_FULL : SEEDS));
  const seeds = Array.from({ length: count }, (_, seed) => seed);
  const jobs: Case[] = endings
    .filter((ending) => only === undefined || ending.name === only)
    .flatMap((ending) =>
      (["bus", "separate"] as const).flatMap((powered) =>
        seeds.map((seed) => ({ ending, powered, seed })),
      ),
    );
  const results = await runPool<Case, CaseResult>({
    worker: new URL("./safe-ends/worker.ts", import.meta.url),
    jobs,
    size: PAIRS_AT_ONCE,
  });
  for (const result of results) {
    if (result.wrong.length > 0) {
      say(
        `${result.name} (${result.moment.phase} + ${result.moment.afterMs} ms, exit ${result.exitStatus}): ${result.wrong.join("; ")}`,
      );
    }
  }
  const held = results.filter((result) => result.wrong.length === 0).length;
  report({
    name: `safe-ends (${endings.length} endings, ${jobs.length} runs)`,
    value: Math.round((10_000 * held) / results.length) / 100,
    unit: "%",
    limit: "= 100",
    holds: held === results.length,
  });
}
