/** The same seed twice: byte-identical journals, over whole runs; with --full their holds are not cut. */
import type { EmulatedRunJob, EmulatedRunResult, Haste } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";
import { runPool } from "./pool.ts";

const SEEDS = 20;
/** Two minutes of hold repeat the same few exchanges; the quick count takes seconds of them. */
const QUICK: Haste = { holdMsMax: 5000, warmUpMsMax: 60_000, warmUpSettleMsMin: 500 };

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const once = Array.from(
    { length: SEEDS },
    (_, seed): EmulatedRunJob => ({
      board: seed % 2 === 0 ? "flasher-latch" : "fog-divider",
      seed,
      changes: [],
      spread: { partsFraction: 0.05, tubesFraction: 0.15 },
      haste: full ? null : QUICK,
    }),
  );
  const results = await runPool<EmulatedRunJob, EmulatedRunResult>({
    worker: new URL("./emulated-worker.ts", import.meta.url),
    jobs: [...once, ...once],
  });
  const same = once.filter((job, index) => {
    const [first, second] = [results[index], results[index + SEEDS]];
    const equal = first !== undefined && first.journalSha256 === second?.journalSha256;
    if (!equal) say(`${job.board} seed ${job.seed}: the two journals differ`);
    return equal;
  }).length;
  const different = new Set(results.map((result) => result.journalSha256)).size;
  report({
    name: "deterministic identical journals",
    value: same,
    unit: `of ${SEEDS} seeds`,
    limit: `= ${SEEDS}`,
    holds: same === SEEDS,
  });
  // Were every journal the same whatever the seed, the figure above would say nothing.
  report({
    name: "deterministic distinct journals",
    value: different,
    unit: "journals",
    limit: `= ${SEEDS}`,
    holds: different === SEEDS,
  });
}
