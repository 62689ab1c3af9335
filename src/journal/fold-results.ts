/** Required results in the fold: steps, readings, hold proofs, and sections that stayed cold. */
import type { JudgedReading, RunEvent } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";
import type { HoldStep, Plan } from "../events/plan.ts";
import { goesOn } from "../verdict/decision-rule.ts";
import { judgeReading } from "../verdict/judge.ts";
import {
  coverageOf,
  doubted,
  type FoldedRun,
  missingInStep,
  type RunAccount,
  stepLengthMs,
  withRead,
} from "./account.ts";
import { withExpected } from "./fold-channels.ts";
import { coldText, judgedText } from "./log-text.ts";
import type { FirstMiss, StepSnapshot, StepState } from "./snapshot.ts";

export function foldStepBegun(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "step-begun" }>,
): FoldedRun {
  const step = run.plan?.steps[event.step];
  const begun: FoldedRun = {
    ...run,
    steps: withState(run.steps, event.step, "running"),
    hold: null,
    account: { ...run.account, coverage: coverageOf(null, event.step) },
  };
  return step === undefined ? begun : withExpected(begun, step.expect);
}

export function foldReading(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "reading" }>,
): FoldedRun {
  const lines = new Set((run.plan?.lines ?? []).map(({ channel }) => channel));
  // A line off its level explains what the nets do, so it is looked at before them.
  const offLevel = event.readings.find(
    (one) => lines.has(one.channel) && !goesOn(one.result) && one.volts !== null,
  );
  const doubt =
    offLevel === undefined
      ? run.account
      : doubted(run.account, `driven line off its level: ${judgedText(offLevel, run.plan)}`);
  const account = withResults(doubt, event);
  const miss = offLevel ?? event.readings.find(({ result }) => !goesOn(result));
  const near = event.readings.find(
    ({ result }) => result === "conditional fail" || result === "conditional pass",
  );
  return {
    ...run,
    account,
    ...(near === undefined || run.firstConditional !== undefined
      ? {}
      : { firstConditional: missOf(near, event.step, run.plan) }),
    firstMiss: run.firstMiss ?? (miss === undefined ? null : missOf(miss, event.step, run.plan)),
  };
}

function missOf(reading: JudgedReading, step: number, plan: Plan | null): FirstMiss {
  const { channel: net, volts } = reading;
  return { step, net, volts, text: judgedText(reading, plan) };
}

function withResults(
  account: RunAccount,
  event: Extract<RunEvent, { kind: "reading" }>,
): RunAccount {
  const coverage = coverageOf(account.coverage, event.step);
  const count = (result: JudgedReading["result"]) =>
    event.readings.filter((one) => one.result === result).length;
  const valid = account.doubts.length === 0;
  return {
    ...account,
    passed: account.passed + (valid ? count("pass") : 0),
    conditionallyPassed: account.conditionallyPassed + (valid ? count("conditional pass") : 0),
    conditionallyFailed: account.conditionallyFailed + (valid ? count("conditional fail") : 0),
    failed: account.failed + (valid ? count("fail") : 0),
    voided: account.voided + (valid ? count("void") : event.readings.length),
    coverage: withRead(
      coverage,
      event.part,
      event.readings.map(({ channel }) => channel),
    ),
  };
}

export function foldHoldProgress(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "hold-progress" }>,
): FoldedRun {
  const { step, part, elapsedMs, forMs, readingSets, moves } = event;
  const shown: FoldedRun = {
    ...run,
    hold: { step, part, elapsedMs, forMs, readingSets, moves },
  };
  const planned = run.plan?.steps[step];
  if (run.plan === null || planned?.kind !== "hold" || readingSets === 0) {
    return shown;
  }
  const progressed = withExtremes(shown, event, { planned, plan: run.plan });
  const coverage = coverageOf(progressed.account.coverage, step);
  const read = withRead(coverage, part, Object.keys(event.worst));
  return {
    ...progressed,
    account: {
      ...progressed.account,
      coverage:
        part === "hold"
          ? { ...read, heldMs: elapsedMs, moves: Math.max(read.moves, moves) }
          : { ...read, flippedMs: elapsedMs },
    },
  };
}

/**
 * The extremes of a hold are judged again here: that every set was as expected is what the run
 * says, and what the record will print must bear it out.
 */
function withExtremes(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "hold-progress" }>,
  { planned, plan }: { readonly planned: HoldStep; readonly plan: Plan },
): FoldedRun {
  if (run.account.doubts.length > 0) {
    return run;
  }
  const expect = event.part === "hold" ? planned.expect : planned.flip.expect;
  const bad = Object.entries(event.worst)
    .map(([channel, { lowV, highV, expandedV }]) => {
      const expected = expect[channel];
      const volts = expected === "high" ? lowV : highV;
      return expected === undefined
        ? null
        : judgedExtreme({ channel, expected, volts, expandedV, plan });
    })
    .find((one) => one !== null && !goesOn(one.result));
  if (!bad) {
    return run;
  }
  return {
    ...run,
    account: { ...run.account, failed: run.account.failed + 1 },
    firstMiss: run.firstMiss ?? {
      step: event.step,
      net: bad.channel,
      volts: bad.volts,
      text: judgedText(bad, run.plan),
    },
  };
}

function judgedExtreme(extreme: {
  readonly channel: string;
  readonly expected: LevelClass;
  readonly volts: number;
  readonly expandedV: number | undefined;
  readonly plan: Plan;
}): JudgedReading {
  const { channel, expected, volts, expandedV, plan } = extreme;
  const reading = { channel, volts, noReading: null, sum: 0, count: 0, min: 0, max: 0, expandedV };
  return judgeReading(reading, expected, plan);
}

export function foldStepEnded(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "step-ended" }>,
): FoldedRun {
  const planned = run.plan?.steps[event.step];
  const account = withStepResult(run.account, event.result);
  return {
    ...run,
    steps: withState(run.steps, event.step, event.result),
    hold: null,
    account:
      run.plan === null || planned === undefined
        ? account
        : {
            ...account,
            missingInEndedSteps:
              account.missingInEndedSteps + missingInStep(planned, account.coverage, run.plan),
            stepsLeftMs: Math.max(0, account.stepsLeftMs - stepLengthMs(planned)),
          },
  };
}

/** A step's own result counts too: a run that calls a step failed cannot pass by its readings. */
function withStepResult(account: RunAccount, result: JudgedReading["result"]): RunAccount {
  const valid = account.doubts.length === 0;
  return {
    ...account,
    conditionallyPassed:
      account.conditionallyPassed + (result === "conditional pass" && valid ? 1 : 0),
    conditionallyFailed:
      account.conditionallyFailed + (result === "conditional fail" && valid ? 1 : 0),
    failed: account.failed + (result === "fail" && valid ? 1 : 0),
    voided: account.voided + (result === "void" ? 1 : 0),
  };
}

export function foldWarmUpEnded(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "warm-up-ended" }>,
): FoldedRun {
  const { account } = run;
  const timedOut = run.plan !== null && event.tookMs >= run.plan.warmUp.timeoutMs;
  const valid = account.doubts.length === 0;
  const read = event.cold.filter(({ volts }) => volts !== null).length;
  const [first] = event.cold;
  return {
    ...run,
    warmUpMs: event.tookMs,
    account: {
      ...account,
      warm: event.warm && event.cold.length === 0,
      cold: {
        read: valid ? read : 0,
        unread: event.cold.length - (valid ? read : 0),
        timedOut,
      },
    },
    firstMiss:
      run.firstMiss ??
      (first === undefined || !timedOut
        ? null
        : {
            step: null,
            net: first.net,
            volts: first.volts,
            text: coldText(first, event.tookMs, run.plan),
          }),
  };
}

function withState(
  steps: readonly StepSnapshot[],
  index: number,
  state: StepState,
): StepSnapshot[] {
  return steps.map((step) => (step.index === index ? { ...step, state } : step));
}
