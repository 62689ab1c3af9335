/**
 * Exercises the board until every section has pulled its net low and the lows stand still. The
 * patterns run in turn; a line off its level, or time, ends it as not warm.
 */
import { assign, setup } from "xstate";
import type { Plan } from "../events/plan.ts";
import type { Ending } from "./ending.ts";
import {
  barred,
  endingOfFailure,
  type Gate,
  iterationsMax,
  notProvided,
  outputOf,
  stalled,
} from "./machine-words.ts";
import { benchDeadlineMs, leastRestMs, stateDeadlineMs } from "./timing.ts";

export interface WarmUpContext {
  readonly settleMs: readonly number[];
  readonly lineCount: number;
  readonly longestSettleMs: number;
  readonly position: number;
  readonly ending: Ending | null;
}

export interface WarmUpInput {
  readonly plan: Plan;
}

export interface ExerciseInput {
  /** Position of the pattern in the plan's exercise. */
  readonly position: number;
}

export type WarmUpOutput = Ending | null;

/** Where the board stands after a pattern has been read. */
export type WarmthReport =
  | { readonly kind: "warming" | "warm" }
  | { readonly kind: "over"; readonly ending: Ending };

export function isWarm(_: unknown, report: WarmthReport): boolean {
  return report.kind === "warm";
}

export function isWarming(_: unknown, report: WarmthReport): boolean {
  return report.kind === "warming";
}

function initialContext({ input: { plan } }: { input: WarmUpInput }): WarmUpContext {
  const settleMs = plan.warmUp.exercise.map((exercise) => Math.max(exercise.settleMs, leastRestMs));
  return {
    settleMs,
    lineCount: plan.lines.length,
    longestSettleMs: Math.max(leastRestMs, ...settleMs),
    position: 0,
    ending: null,
  };
}

function exerciseInput({ context }: { context: WarmUpContext }): ExerciseInput {
  return { position: context.position };
}

function settleInput({ context }: { context: WarmUpContext }): { settleMs: number } {
  return { settleMs: context.settleMs[context.position] ?? leastRestMs };
}

function result({ context }: { context: WarmUpContext }): WarmUpOutput {
  return context.ending;
}

const failed = {
  target: "over",
  actions: { type: "takeEnding", params: endingOfFailure },
} as const;
const stuck = { target: "over", actions: "takeStall" } as const;

export const warmUpMachine = setup({
  types: {
    context: {} as WarmUpContext,
    input: {} as WarmUpInput,
    output: {} as WarmUpOutput,
  },
  actors: {
    proveLineLeads: notProvided<Gate>("proveLineLeads"),
    drivePattern: notProvided<void, ExerciseInput>("drivePattern"),
    settle: notProvided<void, { settleMs: number }>("settle"),
    readPattern: notProvided<WarmthReport, ExerciseInput>("readPattern"),
  },
  guards: { isWarm, isWarming, isOpen: (_, gate: Gate) => gate.open },
  actions: {
    nextPattern: assign({
      position: ({ context }) => (context.position + 1) % Math.max(1, context.settleMs.length),
    }),
    takeReport: assign({
      ending: (_, report: WarmthReport) => (report.kind === "over" ? report.ending : null),
    }),
    takeBar: assign({ ending: (_, gate: Gate) => barred(gate) }),
    takeEnding: assign({ ending: (_, why: Ending) => why }),
    takeStall: assign({ ending: () => stalled("warm-up") }),
  },
  delays: {
    stateDeadlineMs,
    settleDeadlineMs: ({ context }) => context.longestSettleMs + stateDeadlineMs,
    leadsDeadlineMs: ({ context }) =>
      stateDeadlineMs + context.lineCount * (context.longestSettleMs + 3 * benchDeadlineMs),
  },
}).createMachine({
  id: "warmUp",
  options: { maxIterations: iterationsMax },
  context: initialContext,
  initial: "provingLineLeads",
  output: result,
  states: {
    provingLineLeads: {
      invoke: {
        src: "proveLineLeads",
        onDone: [
          { target: "driving", guard: { type: "isOpen", params: outputOf<Gate> } },
          { target: "over", actions: { type: "takeBar", params: outputOf<Gate> } },
        ],
        onError: failed,
      },
      after: { leadsDeadlineMs: stuck },
    },
    driving: {
      invoke: { src: "drivePattern", input: exerciseInput, onDone: "settling", onError: failed },
      after: { stateDeadlineMs: stuck },
    },
    settling: {
      invoke: { src: "settle", input: settleInput, onDone: "reading", onError: failed },
      after: { settleDeadlineMs: stuck },
    },
    reading: {
      invoke: {
        src: "readPattern",
        input: exerciseInput,
        onDone: [
          { target: "warm", guard: { type: "isWarm", params: outputOf<WarmthReport> } },
          {
            target: "driving",
            guard: { type: "isWarming", params: outputOf<WarmthReport> },
            actions: "nextPattern",
          },
          { target: "over", actions: { type: "takeReport", params: outputOf<WarmthReport> } },
        ],
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    warm: { type: "final" },
    over: { type: "final" },
  },
});
