/**
 * One wrong cycle in a hundred thousand: something pulls a net for 20 ms while the latch must hold, once in a
 * night, at a seeded moment. Caught is only what the journal tells whole: the right cycle and step, ten cycles
 * before and ten after, the rails then, and nothing else wrong.
 */
import type { FigureContext } from "./figure.ts";
import { runPool } from "./pool.ts";

const NIGHTS = 30;
const NIGHTS_QUICK = 4;
const CYCLES = 100_000;

export interface EventNight {
  readonly seed: number;
  readonly cycles: number;
}

export interface EventFound {
  /** What was not as it should be, one clause each; empty when the event was caught whole. */
  readonly wrongs: readonly string[];
  readonly cycles: number;
}

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const nights = full ? NIGHTS : NIGHTS_QUICK;
  const jobs = Array.from(
    { length: nights },
    (_, at): EventNight => ({ seed: 100 + at, cycles: CYCLES }),
  );
  const worker = new URL("./one-event-worker.ts", import.meta.url);
  const found = await runPool<EventNight, EventFound>({ worker, jobs });
  for (const [at, { wrongs }] of found.entries()) {
    if (wrongs.length > 0) say(`seed ${jobs[at]?.seed}: ${wrongs.join("; ")}`);
  }
  const caught = found.filter(({ wrongs }) => wrongs.length === 0).length;
  report({
    name: `one wrong cycle in ${CYCLES}, caught whole in ${nights} of ${NIGHTS} seeded nights`,
    value: (100 * caught) / nights,
    unit: "% of nights",
    limit: "100",
    holds: caught === nights,
  });
}
