/**
 * The root of a run: raise, warm up, walk the steps or hand the lines to a person, and from
 * everywhere the one way down. Supervision runs beside all of it. Whatever ends the proving leads to
 * powering down; a freeze or standby on the way there is a choice made beforehand.
 */
import { assign, fromCallback, setup } from "xstate";
import type { Plan } from "../events/plan.ts";
import type { SafeOutcome } from "./bring-safe.ts";
import type { RunConduct } from "./conduct.ts";
import { type Ending, ending } from "./ending.ts";
import type { FreezeInput } from "./freeze.actors.ts";
import { endingOfFailure, iterationsMax, notProvided, outputOf, stalled } from "./machine-words.ts";
import { type PassOutput, passMachine } from "./pass.machine.ts";
import { powerMachine } from "./power.machine.ts";
import { longestTurnMs } from "./repeated-step.ts";
import {
  freezes,
  goesOn,
  isByHand,
  isDown,
  isRigCheck,
  isSoak,
  standsBy,
  standsByThen,
  wentWell,
} from "./run-guards.ts";
import { longestSoakTurnMs } from "./soak-book.ts";
import type { StandbyInput } from "./standby.actors.ts";
import { supervisionMachine } from "./supervision.machine.ts";
import { contactMsMax, deadManTestMs, safeOffSlackMs, stateDeadlineMs } from "./timing.ts";
import type { Turn } from "./turn.ts";
import { warmUpMachine } from "./warm-up.machine.ts";

export interface RunContext {
  readonly plan: Plan;
  readonly conduct: RunConduct;
  /** Step at which the walk ended. */
  readonly position: number;
  /** First reason to end; later ones change nothing. */
  readonly ending: Ending;
  readonly outcome: SafeOutcome | null;
}

export type RunMachineEvent =
  | { readonly type: "STOP_REQUESTED"; readonly ending: Ending }
  | { readonly type: "CONTROLLER_TRIPPED"; readonly ending: Ending }
  | { readonly type: "CONTROLLER_RESTARTED"; readonly ending: Ending }
  | { readonly type: "DEAD_MAN_FIRED"; readonly ending: Ending }
  | { readonly type: "LINK_LOST"; readonly ending: Ending }
  | { readonly type: "JOURNAL_FAILED"; readonly ending: Ending }
  | { readonly type: "PROGRAM_FAILED"; readonly ending: Ending };

export interface RunInput {
  readonly plan: Plan;
  readonly conduct: RunConduct;
}

export interface RunOutput {
  readonly ending: Ending;
  /** Null when the way to safe outputs did not report in time. */
  readonly outcome: SafeOutcome | null;
}

function planInput({ context }: { context: RunContext }): { plan: Plan } {
  return { plan: context.plan };
}

function longestFallsMs({ plan }: RunContext): number {
  return plan.rails.reduce((sum, { fallMsMax }) => sum + fallMsMax, safeOffSlackMs);
}

function endingInput({ context }: { context: RunContext }): { ending: Ending } {
  return { ending: context.ending };
}

function freezeInput({ context }: { context: RunContext }): FreezeInput {
  return { position: context.position };
}

function initialContext({ input: { plan, conduct } }: { input: RunInput }): RunContext {
  return {
    plan,
    conduct,
    position: 0,
    ending: ending("completed", "every step was taken"),
    outcome: null,
  };
}

function result({ context }: { context: RunContext }): RunOutput {
  return { ending: context.ending, outcome: context.outcome };
}

const failed = {
  target: "#run.poweringDown",
  actions: { type: "takeEnding", params: endingOfFailure },
} as const;
const wentWrong = {
  target: "#run.poweringDown",
  actions: { type: "takeResult", params: outputOf<Ending | null> },
} as const;
const wentOn = { type: "wentWell", params: outputOf<Ending | null> } as const;
const stuck = { target: "#run.poweringDown", actions: "takeStallAnyway" } as const;
const turnGoesOn = { type: "goesOn", params: outputOf<Turn> } as const;
const takeTurn = { type: "takeTurn", params: outputOf<Turn> } as const;
/** Asked to stop when there is nothing left to prove: the reason found before stands. */
const asItStands = { target: "#run.poweringDown" } as const;
const ends = { target: "poweringDown", actions: "takeEvent" } as const;
/** While powering down there is nothing left to decide: the reason stands, the way is the same. */
const tooLate = {} as const;

export const runMachine = setup({
  types: {
    context: {} as RunContext,
    events: {} as RunMachineEvent,
    input: {} as RunInput,
    output: {} as RunOutput,
  },
  actors: {
    hearController: fromCallback<RunMachineEvent>(() => undefined),
    supervise: supervisionMachine,
    power: powerMachine,
    warmUp: warmUpMachine,
    pass: passMachine,
    walkRelays: notProvided<Ending | null>("walkRelays"),
    testDeadMan: notProvided<Ending>("testDeadMan"),
    handTurn: notProvided<Turn>("handTurn"),
    soakTurn: notProvided<Turn>("soakTurn"),
    freezeTurn: notProvided<Turn, FreezeInput>("freezeTurn"),
    stepDown: notProvided<boolean>("stepDown"),
    standbyTurn: notProvided<Turn, StandbyInput>("standbyTurn"),
    powerDown: notProvided<SafeOutcome, { ending: Ending }>("powerDown"),
  },
  guards: {
    wentWell,
    freezes,
    standsBy,
    standsByThen,
    isByHand,
    isSoak,
    isRigCheck,
    goesOn,
    isDown,
  },
  actions: {
    takeEvent: assign({ ending: ({ event }) => event.ending }),
    takeEnding: assign({ ending: (_, why: Ending) => why }),
    takeResult: assign({
      ending: ({ context }, why: Ending | null) => why ?? context.ending,
    }),
    takePass: assign({
      ending: ({ context }, output: PassOutput) => output.ending ?? context.ending,
      position: (_, output: PassOutput) => output.position,
    }),
    takeTurn: assign({
      ending: ({ context }, turn: Turn) =>
        (turn.kind === "over" ? turn.ending : null) ?? context.ending,
    }),
    takeStallAnyway: assign({ ending: () => stalled("a state that a person had in hand") }),
    takeSupervision: assign({ ending: (_, why: Ending) => why }),
    takeOutcome: assign({ outcome: (_, outcome: SafeOutcome) => outcome }),
    takeStall: assign({
      ending: ({ context }) =>
        context.ending.cause === "completed" ? stalled("powering down") : context.ending,
    }),
  },
  delays: {
    powerDownDeadlineMs: ({ context }) => longestFallsMs(context),
    walkDeadlineMs: ({ context }) => context.plan.lines.length * contactMsMax + 2 * stateDeadlineMs,
    deadManDeadlineMs: () => 2 * deadManTestMs,
    soakDeadlineMs: ({ context }) => longestSoakTurnMs(context.conduct.soak) + 2 * stateDeadlineMs,
    turnDeadlineMs: ({ context }) => longestTurnMs(context.plan) + 2 * stateDeadlineMs,
  },
}).createMachine({
  id: "run",
  options: { maxIterations: iterationsMax },
  context: initialContext,
  initial: "proving",
  output: result,
  invoke: { src: "hearController", onError: failed },
  states: {
    proving: {
      invoke: {
        src: "supervise",
        onDone: {
          target: "poweringDown",
          actions: { type: "takeSupervision", params: outputOf<Ending> },
        },
        onError: failed,
      },
      on: {
        STOP_REQUESTED: ends,
        CONTROLLER_TRIPPED: ends,
        CONTROLLER_RESTARTED: ends,
        DEAD_MAN_FIRED: ends,
        LINK_LOST: ends,
        JOURNAL_FAILED: ends,
        PROGRAM_FAILED: ends,
      },
      initial: "raising",
      states: {
        raising: {
          invoke: {
            src: "power",
            input: planInput,
            onDone: [
              {
                target: "walkingRelays",
                guard: { type: "isRigCheck", params: outputOf<Ending | null> },
              },
              { target: "warmingUp", guard: wentOn },
              wentWrong,
            ],
            onError: failed,
          },
        },
        walkingRelays: {
          invoke: {
            src: "walkRelays",
            onDone: [{ target: "#run.testingDeadMan", guard: wentOn }, wentWrong],
            onError: failed,
          },
          after: { walkDeadlineMs: stuck },
        },
        warmingUp: {
          invoke: {
            src: "warmUp",
            input: planInput,
            onDone: [
              { target: "byHand", guard: { type: "isByHand", params: outputOf<Ending | null> } },
              { target: "soaking", guard: { type: "isSoak", params: outputOf<Ending | null> } },
              { target: "stepping", guard: wentOn },
              wentWrong,
            ],
            onError: failed,
          },
        },
        stepping: {
          invoke: {
            src: "pass",
            input: planInput,
            onDone: [
              {
                target: "frozen",
                guard: { type: "freezes", params: outputOf<PassOutput> },
                actions: { type: "takePass", params: outputOf<PassOutput> },
              },
              {
                target: "goingToStandby",
                guard: { type: "standsBy", params: outputOf<PassOutput> },
                actions: { type: "takePass", params: outputOf<PassOutput> },
              },
              {
                target: "#run.poweringDown",
                actions: { type: "takePass", params: outputOf<PassOutput> },
              },
            ],
            onError: failed,
          },
        },
        byHand: {
          invoke: {
            src: "handTurn",
            onDone: [
              { target: "byHand", reenter: true, guard: turnGoesOn },
              { target: "#run.poweringDown", actions: takeTurn },
            ],
            onError: failed,
          },
          after: { turnDeadlineMs: stuck },
        },
        soaking: {
          invoke: {
            src: "soakTurn",
            onDone: [
              { target: "soaking", reenter: true, guard: turnGoesOn },
              { target: "#run.poweringDown", actions: takeTurn },
            ],
            onError: failed,
          },
          after: { soakDeadlineMs: stuck },
        },
        frozen: {
          on: { STOP_REQUESTED: asItStands },
          invoke: {
            src: "freezeTurn",
            input: freezeInput,
            onDone: [
              { target: "frozen", reenter: true, guard: turnGoesOn },
              {
                target: "goingToStandby",
                guard: { type: "standsByThen", params: outputOf<Turn> },
                actions: takeTurn,
              },
              { target: "#run.poweringDown", actions: takeTurn },
            ],
            onError: failed,
          },
          after: { turnDeadlineMs: stuck },
        },
        goingToStandby: {
          on: { STOP_REQUESTED: asItStands },
          invoke: {
            src: "stepDown",
            onDone: [
              { target: "standby", guard: { type: "isDown", params: outputOf<boolean> } },
              { target: "#run.poweringDown" },
            ],
            onError: failed,
          },
          after: { powerDownDeadlineMs: stuck },
        },
        standby: {
          on: { STOP_REQUESTED: asItStands },
          invoke: {
            src: "standbyTurn",
            input: endingInput,
            onDone: [
              { target: "standby", reenter: true, guard: turnGoesOn },
              { target: "#run.poweringDown", actions: takeTurn },
            ],
            onError: failed,
          },
          after: { turnDeadlineMs: stuck },
        },
      },
    },
    // Outside proving on purpose: nothing feeds here, and the controller has to see to itself.
    testingDeadMan: {
      invoke: {
        src: "testDeadMan",
        onDone: {
          target: "poweringDown",
          actions: { type: "takeEnding", params: outputOf<Ending> },
        },
        onError: failed,
      },
      on: {
        STOP_REQUESTED: ends,
        CONTROLLER_TRIPPED: ends,
        CONTROLLER_RESTARTED: ends,
        // What is waited for: the rails are watched to the end of their falls.
        DEAD_MAN_FIRED: {},
        LINK_LOST: ends,
        JOURNAL_FAILED: ends,
        PROGRAM_FAILED: ends,
      },
      after: { deadManDeadlineMs: { target: "poweringDown", actions: "takeStallAnyway" } },
    },
    poweringDown: {
      invoke: {
        src: "powerDown",
        input: endingInput,
        onDone: {
          target: "ended",
          actions: { type: "takeOutcome", params: outputOf<SafeOutcome> },
        },
        onError: {
          target: "ended",
          actions: { type: "takeEnding", params: endingOfFailure },
        },
      },
      on: {
        STOP_REQUESTED: tooLate,
        CONTROLLER_TRIPPED: tooLate,
        CONTROLLER_RESTARTED: tooLate,
        DEAD_MAN_FIRED: tooLate,
        LINK_LOST: tooLate,
        JOURNAL_FAILED: tooLate,
        PROGRAM_FAILED: tooLate,
      },
      after: { powerDownDeadlineMs: { target: "ended", actions: "takeStall" } },
    },
    ended: { type: "final" },
  },
});
