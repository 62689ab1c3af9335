/**
 * What the fold keeps besides the picture: the count of required results, what of them is still
 * missing, and why the bench may not be believed. The verdict of a run is read from this alone.
 */
import type { EndCause, RunEvent } from "../events/events.ts";
import type { RailName, Verdict } from "../events/levels.ts";
import type { HoldStep, Plan, PlannedStep } from "../events/plan.ts";
import { runVerdict } from "../verdict/run-verdict.ts";
import type { RunSnapshot, StepState } from "./snapshot.ts";
import { isSoakComplete } from "./soak-snapshot.ts";

/** What of one step has been read. Names are channels. */
export interface StepCoverage {
  readonly step: number;
  readonly pattern: readonly string[];
  readonly inactive: readonly string[];
  readonly hold: readonly string[];
  readonly flip: readonly string[];
  readonly heldMs: number;
  readonly flippedMs: number;
  readonly moves: number;
}

export interface RunAccount {
  readonly passed: number;
  /** Inside the limit by less than the guard band, and beyond it by no more; 0 under simple acceptance. */
  readonly conditionallyPassed: number;
  readonly conditionallyFailed: number;
  readonly failed: number;
  readonly voided: number;
  /** Required results missing in steps that have ended. */
  readonly missingInEndedSteps: number;
  readonly coverage: StepCoverage | null;
  /**
   * Why the bench may not be believed, oldest first and bounded. Results after the first doubt are
   * not valid: they neither pass nor fail the board.
   */
  readonly doubts: readonly string[];
  /** Gates that opened, as `plate board`. */
  readonly gatesOpen: readonly string[];
  readonly raised: readonly RailName[];
  readonly warm: boolean;
  /** Nets still cold when warm-up ended, and whether its time was out. */
  readonly cold: { readonly read: number; readonly unread: number; readonly timedOut: boolean };
  readonly heatersOnMs: number | null;
  /** Steps not ended, by their share of the plan's estimate. */
  readonly stepsLeftMs: number;
}

/** A run's picture with the account behind it; what `foldEvent` works on. */
export interface FoldedRun extends RunSnapshot {
  readonly account: RunAccount;
}

export const EMPTY_ACCOUNT: RunAccount = {
  passed: 0,
  conditionallyPassed: 0,
  conditionallyFailed: 0,
  failed: 0,
  voided: 0,
  missingInEndedSteps: 0,
  coverage: null,
  doubts: [],
  gatesOpen: [],
  raised: [],
  warm: false,
  cold: { read: 0, unread: 0, timedOut: false },
  heatersOnMs: null,
  stepsLeftMs: 0,
};

/** Doubts kept as text; one is enough for the verdict. */
const DOUBTS_MAX = 20;

export function doubted(account: RunAccount, why: string): RunAccount {
  return account.doubts.length >= DOUBTS_MAX
    ? account
    : { ...account, doubts: [...account.doubts, why] };
}

/** Ends that say the bench, and not the board, was the reason. */
const DOUBTFUL_CAUSES: ReadonlySet<EndCause> = new Set([
  "trip",
  "link lost",
  "controller restarted",
  "dead-man",
  "supply refused",
  "rig unfit",
  "line off its level",
  "journal fault",
  "internal fault",
]);

/**
 * The verdict a run has when it ends now with this cause, from its sealed events alone.
 *
 * @param cause null for a journal that was never closed, such as after a crash
 */
export function verdictAtEnd(run: FoldedRun, cause: EndCause | null): Verdict {
  const { account, plan } = run;
  const doubt =
    account.doubts.length > 0 ||
    (cause !== null && DOUBTFUL_CAUSES.has(cause)) ||
    unprovedFalls(run).length > 0;
  const cold = coldAtEnd(account, cause);
  return runVerdict({
    passed: account.passed,
    conditionallyPassed: account.conditionallyPassed,
    conditionallyFailed: account.conditionallyFailed,
    failed: account.failed + cold.read,
    voided: account.voided + cold.unread + (doubt ? 1 : 0),
    missing: plan === null ? 1 : missingResults(run, plan),
  });
}

/**
 * A section cold at time-out fails its net; without a reading it cannot be told from a lead that is
 * off, so it voids. A warm-up broken off for another reason says nothing about its nets.
 */
function coldAtEnd(
  { cold }: RunAccount,
  cause: EndCause | null,
): { readonly read: number; readonly unread: number } {
  const counts = cause === "not warm" || (cause === null && cold.timedOut);
  return counts ? cold : { read: 0, unread: 0 };
}

/** Rails that were raised, and neither proved off nor kept on for the next run on purpose. */
export function unprovedFalls(run: FoldedRun): RailName[] {
  return run.account.raised.filter((name) => {
    const fall = run.rails.find(({ rail }) => rail === name)?.fall;
    return fall !== "verified" && fall !== "kept on";
  });
}

/** The verdict if the run ended now with this cause and what is still on were handed over. */
export function verdictInStandby(run: FoldedRun, cause: EndCause): Verdict {
  const rails = run.rails.map((one) =>
    one.on && one.fall === null ? { ...one, fall: "kept on" as const } : one,
  );
  return verdictAtEnd({ ...run, rails }, cause);
}

function missingResults({ account, steps, soak }: FoldedRun, plan: Plan): number {
  const gates = plan.rails.flatMap(({ rail }) => [`${rail} source`, `${rail} board`]);
  const shutGates = gates.filter((gate) => !account.gatesOpen.includes(gate)).length;
  if (soak !== undefined) {
    return shutGates + (account.warm ? 0 : 1) + (isSoakComplete(soak) ? 0 : 1);
  }
  const inOpenSteps = plan.steps
    .filter(({ index }) => !isEnded(steps[index]?.state))
    .reduce((sum, step) => sum + Math.max(1, missingInStep(step, account.coverage, plan)), 0);
  return shutGates + (account.warm ? 0 : 1) + account.missingInEndedSteps + inOpenSteps;
}

function isEnded(state: StepState | undefined): boolean {
  return (
    state !== undefined && state !== "waiting" && state !== "running" && state !== "not tested"
  );
}

/** Required results of a step that its coverage lacks. */
export function missingInStep(
  step: PlannedStep,
  coverage: StepCoverage | null,
  plan: Plan,
): number {
  const seen = coverageOf(coverage, step.index);
  return step.kind === "pattern"
    ? unread(Object.keys(step.expect), seen.pattern)
    : missingInHold(step, seen, plan);
}

function missingInHold(step: HoldStep, seen: StepCoverage, plan: Plan): number {
  const inactive = Object.keys(step.inactive).map((name) => channelOfLine(plan, name));
  return (
    unread(inactive, seen.inactive) +
    unread(Object.keys(step.expect), seen.hold) +
    unread(Object.keys(step.flip.expect), seen.flip) +
    (seen.heldMs < step.forMs ? 1 : 0) +
    (seen.flippedMs < step.flip.forMs ? 1 : 0) +
    // A hold whose lines were to be moved and were not has not been disturbed.
    (step.move.length > 0 && seen.moves === 0 ? 1 : 0)
  );
}

function unread(required: readonly string[], seen: readonly string[]): number {
  return required.filter((name) => !seen.includes(name)).length;
}

function channelOfLine(plan: Plan, name: string): string {
  return plan.lines.find(({ line }) => line === name)?.channel ?? name;
}

/** Coverage of the given step; begun anew when the last one belongs to another step. */
export function coverageOf(coverage: StepCoverage | null, step: number): StepCoverage {
  return coverage?.step === step
    ? coverage
    : {
        step,
        pattern: [],
        inactive: [],
        hold: [],
        flip: [],
        heldMs: 0,
        flippedMs: 0,
        moves: 0,
      };
}

type ReadPart = Extract<RunEvent, { kind: "reading" }>["part"];

/** Coverage with these channels read in this part; the same object when nothing is new. */
export function withRead(
  coverage: StepCoverage,
  part: ReadPart,
  channels: readonly string[],
): StepCoverage {
  const fresh = channels.filter((channel) => !coverage[part].includes(channel));
  return fresh.length === 0 ? coverage : { ...coverage, [part]: [...coverage[part], ...fresh] };
}

/** Share of one step in the length of a pass, ms: its waits. Readings are short beside them. */
export function stepLengthMs(step: PlannedStep): number {
  return step.kind === "pattern" ? step.settleMs : step.forMs + step.flip.forMs + 4 * step.settleMs;
}
