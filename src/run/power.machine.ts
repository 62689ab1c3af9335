/**
 * Raises the rails in their order: heater, bias, plate. Each is measured at its source before its
 * relay is switched and inside its window at the board before the next one may follow.
 */
import { assign, setup } from "xstate";
import type { RailName } from "../events/levels.ts";
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
import { stateDeadlineMs, surveyMsMax } from "./timing.ts";

export interface PowerContext {
  readonly rails: readonly RailName[];
  readonly position: number;
  readonly longestRiseMs: number;
  readonly longestFallMs: number;
  readonly heaterWaitMs: number;
  /** Null while nothing speaks against going on. */
  readonly ending: Ending | null;
}

export interface PowerInput {
  readonly plan: Plan;
}

export interface RailInput {
  readonly rail: RailName;
}

/** @returns null when every rail is up, else why not */
export type PowerOutput = Ending | null;

function railAt({ context }: { context: PowerContext }): RailInput {
  return { rail: context.rails[context.position] ?? "heater" };
}

export function isPlateNext({ context }: { context: PowerContext }): boolean {
  return context.rails[context.position] === "plate";
}

export function isLastRail({ context }: { context: PowerContext }): boolean {
  return context.position >= context.rails.length - 1;
}

export function isOpen(_: unknown, gate: Gate): boolean {
  return gate.open;
}

function initialContext({ input: { plan } }: { input: PowerInput }): PowerContext {
  return {
    rails: plan.rails.map(({ rail }) => rail),
    position: 0,
    longestRiseMs: Math.max(...plan.rails.map(({ riseMsMax }) => riseMsMax)),
    longestFallMs: Math.max(...plan.rails.map(({ fallMsMax }) => fallMsMax)),
    heaterWaitMs: plan.warmUp.heaterBeforePlateMs,
    ending: null,
  };
}

function result({ context }: { context: PowerContext }): PowerOutput {
  return context.ending;
}

const failed = {
  target: "refused",
  actions: { type: "takeEnding", params: endingOfFailure },
} as const;
const stuck = { target: "refused", actions: "takeStall" } as const;
const barredWay = {
  target: "refused",
  actions: { type: "takeBar", params: outputOf<Gate> },
} as const;

export const powerMachine = setup({
  types: {
    context: {} as PowerContext,
    input: {} as PowerInput,
    output: {} as PowerOutput,
  },
  actors: {
    checkSupplies: notProvided<Gate>("checkSupplies"),
    measureSource: notProvided<Gate, RailInput>("measureSource"),
    setTrips: notProvided<void, RailInput>("setTrips"),
    waitForHeaters: notProvided<void>("waitForHeaters"),
    checkBias: notProvided<Gate>("checkBias"),
    armTrips: notProvided<void>("armTrips"),
    switchOn: notProvided<void, RailInput>("switchOn"),
    watchRise: notProvided<Gate, RailInput>("watchRise"),
  },
  guards: {
    isOpen,
    isOpenAndLast: ({ context }, gate: Gate) => gate.open && isLastRail({ context }),
    isPlateNext,
  },
  actions: {
    takeEnding: assign({ ending: (_, why: Ending) => why }),
    takeBar: assign({ ending: (_, gate: Gate) => barred(gate) }),
    takeStall: assign({ ending: () => stalled("power") }),
    nextRail: assign({ position: ({ context }) => context.position + 1 }),
  },
  delays: {
    supplyCheckDeadlineMs: ({ context }) => context.longestFallMs + stateDeadlineMs + surveyMsMax,
    stateDeadlineMs,
    heaterWaitDeadlineMs: ({ context }) => context.heaterWaitMs + stateDeadlineMs,
    riseDeadlineMs: ({ context }) => context.longestRiseMs + stateDeadlineMs,
  },
}).createMachine({
  id: "power",
  options: { maxIterations: iterationsMax },
  context: initialContext,
  initial: "checkingSupplies",
  output: result,
  states: {
    checkingSupplies: {
      invoke: {
        src: "checkSupplies",
        onDone: [
          { target: "measuringSource", guard: { type: "isOpen", params: outputOf<Gate> } },
          barredWay,
        ],
        onError: failed,
      },
      after: { supplyCheckDeadlineMs: stuck },
    },
    measuringSource: {
      invoke: {
        src: "measureSource",
        input: railAt,
        onDone: [
          { target: "settingTrips", guard: { type: "isOpen", params: outputOf<Gate> } },
          barredWay,
        ],
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    settingTrips: {
      invoke: {
        src: "setTrips",
        input: railAt,
        onDone: [{ target: "waitingForHeaters", guard: "isPlateNext" }, { target: "switching" }],
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    waitingForHeaters: {
      invoke: { src: "waitForHeaters", onDone: "checkingBias", onError: failed },
      after: { heaterWaitDeadlineMs: stuck },
    },
    checkingBias: {
      invoke: {
        src: "checkBias",
        onDone: [
          { target: "armingTrips", guard: { type: "isOpen", params: outputOf<Gate> } },
          barredWay,
        ],
        onError: failed,
      },
      after: { stateDeadlineMs: stuck },
    },
    armingTrips: {
      invoke: { src: "armTrips", onDone: "switching", onError: failed },
      after: { stateDeadlineMs: stuck },
    },
    switching: {
      invoke: { src: "switchOn", input: railAt, onDone: "watchingRise", onError: failed },
      after: { stateDeadlineMs: stuck },
    },
    watchingRise: {
      invoke: {
        src: "watchRise",
        input: railAt,
        onDone: [
          { target: "powered", guard: { type: "isOpenAndLast", params: outputOf<Gate> } },
          {
            target: "measuringSource",
            guard: { type: "isOpen", params: outputOf<Gate> },
            actions: "nextRail",
          },
          barredWay,
        ],
        onError: failed,
      },
      after: { riseDeadlineMs: stuck },
    },
    powered: { type: "final" },
    refused: { type: "final" },
  },
});
