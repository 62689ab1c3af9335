/** Power off between two legs, as long as was planned: nothing is switched, but the controller is still heard. */
import type { Bench } from "../bench/bench.ts";
import type { Clock } from "../clock/clock.ts";
import type { Plan } from "../events/plan.ts";
import { hearController } from "./controller-events.ts";
import type { Ending } from "./ending.ts";
import { EnergiseLatch } from "./energise-latch.ts";
import type { Scribe } from "./scribe.ts";

interface Rest {
  readonly bench: Bench;
  readonly clock: Clock;
  readonly forMs: number;
  readonly plan: Plan;
  readonly scribe: Scribe;
  readonly signal: AbortSignal;
}

/**
 * @returns null when the time is over, else what the controller said or how its link was lost, written down
 * @throws the signal's reason
 */
export async function restOnLink({
  bench,
  clock,
  forMs,
  plan,
  scribe,
  signal,
}: Rest): Promise<Ending | null> {
  const over = new AbortController();
  let heard: Ending | null = null;
  const latch = new EnergiseLatch();
  const forget = hearController({ plan, scribe, latch, bench }, (event) => {
    if ("ending" in event) heard ??= event.ending;
    over.abort();
  });
  try {
    await clock.delay(forMs, AbortSignal.any([signal, over.signal]));
    return null;
  } catch (error) {
    if (heard !== null && !signal.aborted) return heard;
    throw error;
  } finally {
    forget();
  }
}
