/** Every way a run can end leaves the board safe, judged by the bench's own log. */
import type { FigureContext } from "./figure.ts";
import { runPool } from "./pool.ts";
import { endings } from "./safe-ends/endings.ts";
import type { Case, CaseResult } from "./safe-ends/run-case.ts";

/** One moment for each ending and supply keeps the figure under three minutes; --full takes them all. */
const MOMENTS = 1;
const MOMENTS_FULL = 20;
/** At this pace one bench and one host keep a core and more busy; a second pair would stall both. */
const PAIRS_AT_ONCE = 1;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const only = process.env["HOLDFAST_ENDING"];
  const moments = Number(process.env["HOLDFAST_MOMENTS"] ?? (full ? MOMENTS_FULL : MOMENTS));
  const jobs: Case[] = endings
    .filter((ending) => only === undefined || ending.name === only)
    .flatMap((ending, place) =>
      (["bus", "separate"] as const).flatMap((powered, supply) =>
        // Endings begin at different phases, so that even one moment each meets every phase.
        Array.from({ length: moments }, (_, count) => ({
          ending,
          powered,
          seed: place + 2 * supply + count,
        })),
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
