/** Actors as the run gives them to its machines: work with a name, a limit and an abort signal. */
import { fromPromise, type PromiseActorLogic } from "xstate";
import type { RunParts } from "./run-parts.ts";
import { stateDeadlineMs } from "./timing.ts";

export interface Work<Input, Output> {
  readonly name: string;
  /** Longest the work may take by its nature, ms; supervision takes more for a hang. */
  readonly limitMs?: number | ((input: Input) => number);
  run(input: Input, signal: AbortSignal): Promise<Output>;
}

/** Make an actor of a piece of work and let supervision know what is under way. */
export function worker<Input, Output>(
  parts: RunParts,
  work: Work<Input, Output>,
): PromiseActorLogic<Output, Input> {
  const { limitMs = stateDeadlineMs } = work;
  return fromPromise<Output, Input>(({ input, signal }) => {
    parts.progress.begin(work.name, typeof limitMs === "number" ? limitMs : limitMs(input));
    return work.run(input, signal);
  });
}
