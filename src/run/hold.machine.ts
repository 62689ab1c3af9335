/**
 * One hold proof: enter the state, release, read that the inactive lines are inactive, then watch
 * the state while other lines move; then the same for the flip by the opposite input.
 */
import { assign, setup } from "xstate";
import type { HoldStep, Plan } from "../events/plan.ts";
import { type Ending, ending, RunFault } from "./ending.ts";
import type { HoldCount, HoldDue } from "./hold-schedule.ts";
import {
  endingOfFailure,
  iterationsMax,
  notProvided,
  outputOf,
  type StepOutcome,
  stalled,
} from "./machine-words.ts";
import { leastRestMs, stateDeadlineMs } from "./timing.ts";

export type HoldPart = "hold" | "flip";

export interface HoldContext extends HoldCount {
  readonly step: HoldStep;
  readonly part: HoldPart;
  /** Reading of the clock when the watch of this part began. */
  readonly startMs: number;
  readonly outcome: StepOutcome;
}

export interface HoldInput {
  readonly plan: Plan;
  readonly position: number;
}

export interface HoldPartInput {
  readonly step: HoldStep;
  readonly part: HoldPart;
}

export interface HoldWatchInput extends HoldPartInput, HoldCount {
  readonly startMs: number;
}

export function isFlip({ context }: { context: HoldContext }): boolean {
  return context.part === "flip";
}

export function isPassed(_: unknown, outcome: StepOutcome): boolean {
  return outcome.result === "pass";
}

export function isReadDue(_: unknown, due: HoldDue): boolean {
  return due.kind === "read";
}

export function isMoveDue(_: unknown, due: HoldDue): boolean {
  return due.kind === "move";
}

const passed: StepOutcome = { result: "pass", ending: null };

function voidOf(why: Ending): StepOutcome {
  return { result: "void", ending: why };
}

/** @throws RunFault "plan-inconsistent" when the step is no hold */
function initialContext({ input: { plan, position } }: { input: HoldInput }): HoldContext {
  const step = plan.steps[position];
  if (step?.kind !== "hold") {
    throw new RunFault("plan-inconsistent", `Expected a hold at step ${position}, there is none.`);
  }
  return { step, part: "hold", startMs: 0, readings: 0, moves: 0, outcome: passed };
}

function partInput({ context: { step, part } }: { context: HoldContext }): HoldPartInput {
  return { step, part };
}

function watchInput({ context }: { context: HoldContext }): HoldWatchInput {
  const { step, part, startMs, readings, moves } = context;
  return { step, part, startMs, readings, moves };
}

function settleMsOf({ step }: HoldContext): number {
  return Math.max(step.settleMs, leastRestMs);
}

function settleInput({ context }: { context: HoldContext }): { settleMs: number } {
  return { settleMs: settleMsOf(context) };
}

function outcomeInput({ context }: { context: HoldContext }) {
  return { step: context.step, result: context.outcome.result };
}

function result({ context }: { context: HoldContext }): StepOutcome {
  return context.outcome;
}

const failed = {
  target: "closing",
  actions: { type: "takeEnding", params: endingOfFailure },
} as const;
const stuck = { target: "closing", actions: "takeStall" } as const;
const missed = {
  target: "closing",
  actions: { type: "takeOutcome", params: outputOf<StepOutcome> },
} as const;

export const holdMachine = setup({
  types: {
    context: {} as HoldContext,
    input: {} as HoldInput,
    output: {} as StepOutcome,
  },
  actors: {
    enter: notProvided<void, HoldPartInput>("enter"),
    release: notProvided<void, HoldPartInput>("release"),
    settle: notProvided<void, { settleMs: number }>("settle"),
    readInactive: notProvided<StepOutcome, HoldPartInput>("readInactive"),
    beginWatch: notProvided<number, HoldPartInput>("beginWatch"),
    waitUntilDue: notProvided<HoldDue, HoldWatchInput>("waitUntilDue"),
    moveLine: notProvided<void, HoldWatchInput>("moveLine"),
    readSet: notProvided<StepOutcome, HoldWatchInput>("readSet"),
    endWatch: notProvided<void, HoldWatchInput>("endWatch"),
    close: notProvided<void, { step: HoldStep; result: StepOutcome["result"] }>("close"),
  },
  guards: { isFlip, isPassed, isReadDue, isMoveDue },
  actions: {
    beginPart: assign({
      startMs: (_, startMs: number) => startMs,
      readings: () => 0,
      moves: () => 0,
    }),
    countReading: assign({ readings: ({ context }) => context.readings + 1 }),
    countMove: assign({ moves: ({ context }) => context.moves + 1 }),
    goToFlip: assign({ part: () => "flip" as const }),
    takeOutcome: assign({ outcome: (_, outcome: StepOutcome) => outcome }),
    takeEnding: assign({ outcome: (_, why: Ending) => voidOf(why) }),
    takeStall: assign({ outcome: () => voidOf(stalled("a hold")) }),
    takeUnclosed: assign({
      outcome: ({ context }) =>
        context.outcome.result === "pass"
          ? voidOf(
              ending("internal fault", "a hold could not be closed", {
                code: "no-progress",
                net: null,
              }),
            )
          : context.outcome,
    }),
  },
  delays: {
    stateDeadlineMs,
    settleDeadlineMs: ({ context }) => settleMsOf(context) + stateDeadlineMs,
    dueDeadlineMs: ({ context }) => context.step.readEveryMs + stateDeadlineMs,
  },
}).createMachine({
  id: "hold",
  options: { maxIterations: iterationsMax },
  context: initialContext,
  initial: "entering",
  output: result,
  states: {
    entering: {
      invoke: { src: "enter", input: partInput, onDone: "settlingEntered", onError: failed },
      after: { stateDeadlineMs: stuck },
    },
    settlingEntered: {
      invoke: { src: "settle", input: settleInput, onDone: "releasing", onError: failed },
      after: { settleDeadlineMs: stuck },
    },
    releasing: {
      invoke: { src: "release", input: partInput, onDone: "settlingReleased", onError: failed },
      after: { stateDeadlineMs: stuck },
    },
    settlingReleased: {
      invoke: { src: "settle", input: settleInput, onDone: "readingInactive", onError: failed },
      after: { settleDeadlineMs: stuck },
    },
    readingInactive: {
      invoke: {
        src: "readInactive",
        input: partInput,
        onDone: [
          { target: "beginning", guard: { type: "isPassed", params: outputOf<StepOutcome> } },
          missed,
        ],
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    beginning: {
      invoke: {
        src: "beginWatch",
        input: partInput,
        onDone: { target: "waiting", actions: { type: "beginPart", params: outputOf<number> } },
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    waiting: {
      invoke: {
        src: "waitUntilDue",
        input: watchInput,
        onDone: [
          { target: "moving", guard: { type: "isMoveDue", params: outputOf<HoldDue> } },
          { target: "reading", guard: { type: "isReadDue", params: outputOf<HoldDue> } },
          { target: "ending" },
        ],
        onError: failed,
      },
      after: { dueDeadlineMs: stuck },
    },
    moving: {
      invoke: {
        src: "moveLine",
        input: watchInput,
        onDone: { target: "waiting", actions: "countMove" },
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    reading: {
      invoke: {
        src: "readSet",
        input: watchInput,
        onDone: [
          {
            target: "waiting",
            guard: { type: "isPassed", params: outputOf<StepOutcome> },
            actions: "countReading",
          },
          missed,
        ],
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    ending: {
      invoke: {
        src: "endWatch",
        input: watchInput,
        onDone: [
          { target: "closing", guard: "isFlip" },
          { target: "entering", actions: "goToFlip" },
        ],
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    closing: {
      invoke: {
        src: "close",
        input: outcomeInput,
        onDone: "closed",
        onError: { target: "closed", actions: "takeUnclosed" },
      },
      after: { stateDeadlineMs: { target: "closed", actions: "takeUnclosed" } },
    },
    closed: { type: "final" },
  },
});
