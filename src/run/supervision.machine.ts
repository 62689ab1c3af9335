/**
 * The heartbeat. Looks at the rails, feeds the dead-man only after a look that was good, rests. Beats that are good
 * follow each other within one round of work, so that a night of them costs no transition each; whatever is
 * not good is decided here. A look out of window is repeated once; beyond a ceiling ends at once. It knows nothing of
 * steps.
 */
import { assign, setup } from "xstate";
import { type Ending, ending } from "./ending.ts";
import { endingOfFailure, iterationsMax, notProvided, outputOf, stalled } from "./machine-words.ts";
import { confirmMs, heartbeatMs, stateDeadlineMs } from "./timing.ts";

/** What a look found. `suspect` may be a single disturbed conversion; `bad` may not. */
export type Look =
  | { readonly kind: "good"; readonly scan: number }
  | { readonly kind: "suspect"; readonly ending: Ending }
  | { readonly kind: "bad"; readonly ending: Ending };

export interface SupervisionContext {
  readonly scan: number;
  readonly ending: Ending;
}

export function isGood(_: unknown, look: Look): boolean {
  return look.kind === "good";
}

export function isSuspect(_: unknown, look: Look): boolean {
  return look.kind === "suspect";
}

function result({ context }: { context: SupervisionContext }): Ending {
  return context.ending;
}

function scanToFeed({ context }: { context: SupervisionContext }): { scan: number } {
  return { scan: context.scan };
}

const broken = {
  target: "ended",
  actions: { type: "takeEnding", params: endingOfFailure },
} as const;
const stuck = { target: "ended", actions: "takeStall" } as const;
const good = {
  target: "feeding",
  guard: { type: "isGood", params: outputOf<Look> },
  actions: { type: "takeScan", params: outputOf<Look> },
} as const;
const bad = { target: "ended", actions: { type: "takeLook", params: outputOf<Look> } } as const;

export const supervisionMachine = setup({
  types: {
    context: {} as SupervisionContext,
    output: {} as Ending,
  },
  actors: {
    /** Look, feed, rest, again and again for a while: the last look, or the first that was not good. */
    beats: notProvided<Look>("beats"),
    look: notProvided<Look>("look"),
    feed: notProvided<void, { scan: number }>("feed"),
  },
  guards: { isGood, isSuspect },
  actions: {
    takeScan: assign({
      scan: ({ context }, look: Look) => (look.kind === "good" ? look.scan : context.scan),
    }),
    takeLook: assign({
      ending: ({ context }, look: Look) => (look.kind === "good" ? context.ending : look.ending),
    }),
    takeEnding: assign({ ending: (_, why: Ending) => why }),
    takeStall: assign({ ending: () => stalled("supervision") }),
  },
  delays: { heartbeatMs, confirmMs, stateDeadlineMs },
}).createMachine({
  id: "supervision",
  options: { maxIterations: iterationsMax },
  context: { scan: 0, ending: ending("internal fault", "supervision ended without a reason") },
  initial: "beating",
  output: result,
  states: {
    beating: {
      invoke: {
        src: "beats",
        onDone: [
          { target: "beating", reenter: true, guard: { type: "isGood", params: outputOf<Look> } },
          {
            target: "resting.beforeConfirming",
            guard: { type: "isSuspect", params: outputOf<Look> },
          },
          bad,
        ],
        onError: broken,
      },
      after: { stateDeadlineMs: stuck },
    },
    confirming: {
      invoke: { src: "look", onDone: [good, bad], onError: broken },
      after: { stateDeadlineMs: stuck },
    },
    feeding: {
      invoke: { src: "feed", input: scanToFeed, onDone: "resting", onError: broken },
      after: { stateDeadlineMs: stuck },
    },
    resting: {
      initial: "betweenBeats",
      states: {
        betweenBeats: { after: { heartbeatMs: "#supervision.beating" } },
        beforeConfirming: { after: { confirmMs: "#supervision.confirming" } },
      },
    },
    ended: { type: "final" },
  },
});
