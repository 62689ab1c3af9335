/**
 * Soaks on the modelled night bench, each struck once by a kill, a cut, a pulled cable, a full disk or a clock, at
 * any moment. No counted cycle is lost or counted twice, gaps are stated, rails safe, the journal whole.
 */
import type { FigureContext } from "./figure.ts";
import { runPool } from "./pool.ts";
import { MISHAPS } from "./survival/mishaps.ts";
import type { SurvivalJob, Survived } from "./survival/survive.ts";

const RUNS = 200;
const RUNS_FULL = 2000;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const only = process.env["HOLDFAST_MISHAP"];
  const first = Number(process.env["HOLDFAST_SEED"] ?? 0);
  const mishaps = MISHAPS.filter(({ strike }) => only === undefined || strike === only);
  const count = Number(process.env["HOLDFAST_RUNS"] ?? (full ? RUNS_FULL : RUNS));
  const jobs = Array.from({ length: count }, (_, at): SurvivalJob => {
    const mishap = mishaps[at % mishaps.length];
    if (mishap === undefined) throw new Error(`no mishap is called ${only}`);
    return { seed: first + at, mishap };
  });
  const results = await runPool<SurvivalJob, Survived>({
    worker: new URL("./survival/worker.ts", import.meta.url),
    jobs,
  });
  for (const { name, wrong } of results) if (wrong.length > 0) say(`${name}: ${wrong.join("; ")}`);
  const held = results.filter(({ wrong }) => wrong.length === 0).length;
  const legs = results.reduce((sum, one) => sum + one.legs, 0);
  const counted = results.reduce((sum, one) => sum + one.counted, 0);
  say(`${legs} legs, ${counted} cycles counted`);
  report({
    name: `survival (${new Set(jobs.map(({ mishap }) => mishap.strike)).size} mishaps, ${jobs.length} soaks)`,
    value: Math.round((10_000 * held) / jobs.length) / 100,
    unit: "%",
    limit: "= 100",
    holds: held === jobs.length,
  });
}
