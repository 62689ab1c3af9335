/**
 * Small words that every run machine uses. A machine names its actors and leaves the work to
 * whoever starts the run; until then an actor only knows its types.
 */
import { fromPromise, type PromiseActorLogic } from "xstate";
import { type Ending, ending, endingOf, RunFault } from "./ending.ts";

/** Microsteps after which a machine counts as going round in circles. */
export const iterationsMax = 1000;

/** An actor with types and no work, to be replaced through `.provide`. */
export function notProvided<Output, Input = undefined>(
  name: string,
): PromiseActorLogic<Output, Input> {
  return fromPromise<Output, Input>(() => {
    throw new RunFault(
      "actor-not-provided",
      `Expected the actor ${name} to be provided, it is not.`,
    );
  });
}

/** Outcome of a check that can bar the way. */
export type Gate = { readonly open: true } | { readonly open: false; readonly ending: Ending };

export function barred(gate: Gate): Ending {
  return gate.open ? ending("internal fault", "a gate that was open barred the way") : gate.ending;
}

export function outputOf<Output>({ event }: { event: { output: Output } }): Output {
  return event.output;
}

/** The reason behind a failed actor. */
export function endingOfFailure({ event }: { event: { error: unknown } }): Ending {
  return endingOf(event.error);
}

/** The reason when a state outlived its deadline. */
export function stalled(state: string): Ending {
  return ending("internal fault", `no progress in ${state} within its deadline`, {
    code: "no-progress",
    net: null,
  });
}

/** What a step, or a part of one, came to. */
export type StepOutcome =
  | { readonly result: "pass"; readonly ending: null }
  | { readonly result: "fail" | "void"; readonly ending: Ending };
