/**
 * Walks the plan's steps once. Pattern steps: drive, settle, read, judge. A hold proof has a
 * machine of its own. The first step that does not pass ends the walk.
 */
import { assign, setup } from "xstate";
import type { Plan } from "../events/plan.ts";
import type { Ending } from "./ending.ts";
import { holdMachine } from "./hold.machine.ts";
import {
  endingOfFailure,
  iterationsMax,
  notProvided,
  outputOf,
  type StepOutcome,
  stalled,
} from "./machine-words.ts";
import { leastRestMs, stateDeadlineMs } from "./timing.ts";

export interface PassContext {
  readonly plan: Plan;
  /** Position of the step under way. */
  readonly position: number;
  readonly ending: Ending | null;
}

export interface PassInput {
  readonly plan: Plan;
}

export interface StepInput {
  readonly position: number;
}

export interface PassOutput {
  /** Null when every step was taken. */
  readonly ending: Ending | null;
  /** The step under way when the walk ended. */
  readonly position: number;
}

export function isDone({ context: { plan, position } }: { context: PassContext }): boolean {
  return position >= plan.steps.length;
}

export function isHoldNext({ context: { plan, position } }: { context: PassContext }): boolean {
  return plan.steps[position]?.kind === "hold";
}

export function isPassed(_: unknown, outcome: StepOutcome): boolean {
  return outcome.result === "pass";
}

function stepInput({ context }: { context: PassContext }): StepInput {
  return { position: context.position };
}

function holdInput({ context }: { context: PassContext }) {
  return { plan: context.plan, position: context.position };
}

function settleMsOf({ plan, position }: PassContext): number {
  return Math.max(plan.steps[position]?.settleMs ?? 0, leastRestMs);
}

function settleInput({ context }: { context: PassContext }): { settleMs: number } {
  return { settleMs: settleMsOf(context) };
}

function initialContext({ input: { plan } }: { input: PassInput }): PassContext {
  return { plan, position: 0, ending: null };
}

function result({ context }: { context: PassContext }): PassOutput {
  return { ending: context.ending, position: context.position };
}

const failed = {
  target: "over",
  actions: { type: "takeEnding", params: endingOfFailure },
} as const;
const stuck = { target: "over", actions: "takeStall" } as const;
const judged = [
  {
    target: "choosing",
    guard: { type: "isPassed", params: outputOf<StepOutcome> },
    actions: "nextStep",
  },
  { target: "over", actions: { type: "takeOutcome", params: outputOf<StepOutcome> } },
] as const;

export const passMachine = setup({
  types: {
    context: {} as PassContext,
    input: {} as PassInput,
    output: {} as PassOutput,
  },
  actors: {
    driveStep: notProvided<void, StepInput>("driveStep"),
    settle: notProvided<void, { settleMs: number }>("settle"),
    readStep: notProvided<StepOutcome, StepInput>("readStep"),
    hold: holdMachine,
  },
  guards: { isDone, isHoldNext, isPassed },
  actions: {
    nextStep: assign({ position: ({ context }) => context.position + 1 }),
    takeOutcome: assign({ ending: (_, outcome: StepOutcome) => outcome.ending }),
    takeEnding: assign({ ending: (_, why: Ending) => why }),
    takeStall: assign({ ending: () => stalled("a step") }),
  },
  delays: {
    stateDeadlineMs,
    settleDeadlineMs: ({ context }) => settleMsOf(context) + stateDeadlineMs,
  },
}).createMachine({
  id: "pass",
  options: { maxIterations: iterationsMax },
  context: initialContext,
  initial: "choosing",
  output: result,
  states: {
    choosing: {
      always: [
        { target: "completed", guard: "isDone" },
        { target: "holding", guard: "isHoldNext" },
        { target: "driving" },
      ],
    },
    driving: {
      invoke: { src: "driveStep", input: stepInput, onDone: "settling", onError: failed },
      after: { stateDeadlineMs: stuck },
    },
    settling: {
      invoke: { src: "settle", input: settleInput, onDone: "reading", onError: failed },
      after: { settleDeadlineMs: stuck },
    },
    reading: {
      invoke: { src: "readStep", input: stepInput, onDone: judged, onError: failed },
      after: { stateDeadlineMs: stuck },
    },
    // No deadline here: every state of the hold has its own.
    holding: {
      invoke: { src: "hold", input: holdInput, onDone: judged, onError: failed },
    },
    completed: { type: "final" },
    over: { type: "final" },
  },
});
