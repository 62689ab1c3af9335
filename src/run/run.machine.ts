/**
 * The root of a run: raise, warm up, walk the steps, and from everywhere the one way down.
 * Supervision runs beside all of it. Whatever ends the proving leads to powering down.
 */
import { assign, fromCallback, setup } from "xstate";
import type { Plan } from "../events/plan.ts";
import type { SafeOutcome } from "./bring-safe.ts";
import { type Ending, ending } from "./ending.ts";
import { endingOfFailure, iterationsMax, notProvided, outputOf, stalled } from "./machine-words.ts";
import { passMachine } from "./pass.machine.ts";
import { powerMachine } from "./power.machine.ts";
import { supervisionMachine } from "./supervision.machine.ts";
import { safeOffSlackMs } from "./timing.ts";
import { warmUpMachine } from "./warm-up.machine.ts";

export interface RunContext {
  readonly plan: Plan;
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
}

export interface RunOutput {
  readonly ending: Ending;
  /** Null when the way to safe outputs did not report in time. */
  readonly outcome: SafeOutcome | null;
}

export function wentWell(_: unknown, why: Ending | null): boolean {
  return why === null;
}

function planInput({ context }: { context: RunContext }): { plan: Plan } {
  return { plan: context.plan };
}

function endingInput({ context }: { context: RunContext }): { ending: Ending } {
  return { ending: context.ending };
}

function initialContext({ input: { plan } }: { input: RunInput }): RunContext {
  return { plan, ending: ending("completed", "every step passed"), outcome: null };
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
    powerDown: notProvided<SafeOutcome, { ending: Ending }>("powerDown"),
  },
  guards: { wentWell },
  actions: {
    takeEvent: assign({ ending: ({ event }) => event.ending }),
    takeEnding: assign({ ending: (_, why: Ending) => why }),
    takeResult: assign({
      ending: ({ context }, why: Ending | null) => why ?? context.ending,
    }),
    takeSupervision: assign({ ending: (_, why: Ending) => why }),
    takeOutcome: assign({ outcome: (_, outcome: SafeOutcome) => outcome }),
    takeStall: assign({
      ending: ({ context }) =>
        context.ending.cause === "completed" ? stalled("powering down") : context.ending,
    }),
  },
  delays: {
    powerDownDeadlineMs: ({ context }) =>
      context.plan.rails.reduce((sum, { fallMsMax }) => sum + fallMsMax, safeOffSlackMs),
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
            onDone: [{ target: "warmingUp", guard: wentOn }, wentWrong],
            onError: failed,
          },
        },
        warmingUp: {
          invoke: {
            src: "warmUp",
            input: planInput,
            onDone: [{ target: "stepping", guard: wentOn }, wentWrong],
            onError: failed,
          },
        },
        stepping: {
          invoke: {
            src: "pass",
            input: planInput,
            onDone: wentWrong,
            onError: failed,
          },
        },
      },
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
