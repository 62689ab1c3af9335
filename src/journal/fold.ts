/**
 * The fold: what a run looks like after each sealed event. Live and replayed runs go through the
 * same function, so a journal read back gives the same screen and the same verdict.
 *
 * Each event makes a new object that shares all unchanged parts with the one before.
 */
import type { JournalEntry, Phase, RunEvent } from "../events/events.ts";
import type { SoakOrder } from "../events/soak.ts";
import type { TaughtBefore } from "../events/unit-history.ts";
import { worseVerdict } from "../verdict/run-verdict.ts";
import { doubted, EMPTY_ACCOUNT, type FoldedRun, stepLengthMs, verdictAtEnd } from "./account.ts";
import { foldByPerson } from "./fold-by-person.ts";
import { withReadings } from "./fold-channels.ts";
import { foldGate, foldRailFall, foldRailSwitched, foldWatch } from "./fold-rails.ts";
import {
  foldHoldProgress,
  foldReading,
  foldStepBegun,
  foldStepEnded,
  foldWarmUpEnded,
} from "./fold-results.ts";
import { foldSoak, isOfSoak, isPlateComingOn, withPowerCycle } from "./fold-soak.ts";
import { leftMsOf } from "./left-time.ts";
import { controllerEventText, logLinesOf } from "./log-text.ts";
import type { LogLine } from "./snapshot.ts";
import { NO_COUNTS, type SoakSnapshot } from "./soak-snapshot.ts";

/** Lines the log keeps, for a person to scroll back to. */
export const LOG_LINES_MAX = 2000;

const EMPTY_RUN: FoldedRun = {
  opened: null,
  plan: null,
  ms: 0,
  phase: "connecting",
  controller: null,
  rails: [],
  channels: [],
  steps: [],
  hold: null,
  mode: "proof",
  lines: {},
  hand: null,
  freeze: null,
  standby: null,
  warm: [],
  warmUpMs: null,
  log: [],
  firstMiss: null,
  stopRequested: false,
  sealedEvents: 0,
  verdict: null,
  cause: null,
  detail: null,
  leftMs: null,
  account: EMPTY_ACCOUNT,
};

/** A run before its first event. */
export function initialSnapshot(): FoldedRun {
  return EMPTY_RUN;
}

/** The run after one more sealed event. */
export function foldEvent(run: FoldedRun, entry: JournalEntry): FoldedRun {
  const { event, ms } = entry;
  const said = logLinesOf(event, run).map((line): LogLine => ({ ms, ...line }));
  const next = foldKind({ ...run, ms }, event);
  const folded: FoldedRun = {
    ...next,
    sealedEvents: run.sealedEvents + 1,
    log: said.length === 0 ? next.log : [...next.log, ...said].slice(-LOG_LINES_MAX),
  };
  return { ...folded, leftMs: leftMsOf(folded) };
}

/** The run after all of these entries. */
export function foldJournal(entries: Iterable<JournalEntry>): FoldedRun {
  let run = initialSnapshot();
  for (const entry of entries) {
    run = foldEvent(run, entry);
  }
  return run;
}

function foldKind(run: FoldedRun, event: RunEvent): FoldedRun {
  switch (event.kind) {
    case "run-opened":
      return foldOpened(run, event);
    case "controller":
      return { ...run, controller: event };
    case "phase":
      return foldPhase(run, event.phase);
    case "rail-switched": {
      const switched = foldRailSwitched(run, event);
      return isPlateComingOn(event) ? withPowerCycle(switched) : switched;
    }
    case "gate":
      return foldGate(run, event);
    case "watch":
      return foldWatch(run, event);
    case "net-warm":
      return foldNetWarm(run, event);
    case "warm-up-ended":
      return foldWarmUpEnded(run, event);
    case "step-begun":
      return foldStepBegun(run, event);
    case "reading":
      return foldReading(withReadings(run, event.readings), event);
    case "hold-progress":
      return foldHoldProgress(run, event);
    case "step-ended":
      return foldStepEnded(run, event);
    case "controller-event":
      return foldControllerEvent(run, event);
    case "stop-requested":
      return { ...run, stopRequested: true };
    case "rail-fall":
      return foldRailFall(run, event);
    case "run-closed":
      return foldClosed(run, event);
    case "lines":
      return { ...run, lines: { ...run.lines, ...event.set } };
    case "hand-reading":
      return withReadings(run, event.readings);
    case "hand-begun":
    case "frozen":
    case "freeze-loop":
    case "freeze-turn":
    case "thawed":
    case "standby-begun":
    case "standby-ended":
      return foldByPerson(run, event);
    case "trips-armed":
    case "rig-checked":
    case "remark":
    case "budget":
      return run;
    case "fault":
      return foldFault(run, event);
    default:
      return isOfSoak(event) ? foldSoak(run, event) : run;
  }
}

/** What belongs to one phase only ends with it, however that came about. */
function foldPhase(run: FoldedRun, phase: Phase): FoldedRun {
  return {
    ...run,
    phase,
    hold: phase === "holding" ? run.hold : null,
    hand: phase === "by hand" ? run.hand : null,
    freeze: phase === "frozen" ? run.freeze : null,
    standby: phase === "standby" ? run.standby : null,
  };
}

function foldOpened(run: FoldedRun, event: Extract<RunEvent, { kind: "run-opened" }>): FoldedRun {
  const { plan } = event;
  const warmNets = new Set(plan.warmUp.exercise.flatMap(({ pullsLow }) => pullsLow));
  return {
    ...run,
    opened: event,
    plan,
    mode: event.mode ?? "proof",
    rails: plan.rails.map(({ rail }) => ({
      rail,
      on: false,
      sourceV: null,
      boardV: null,
      inWindow: null,
      fall: null,
      fallV: null,
    })),
    channels: plan.channels.map(({ name }) => ({
      channel: name,
      volts: null,
      noReading: null,
      class: null,
      expected: null,
      result: null,
    })),
    steps: plan.steps.map(({ index, name }) => ({ index, name, state: "waiting" })),
    warm: [...warmNets].map((net) => ({ net, validMs: null, steadyMs: null })),
    ...(event.soak === undefined ? {} : { soak: newSoak(event.soak, event.taught) }),
    account: {
      ...run.account,
      stepsLeftMs: plan.steps.reduce((sum, step) => sum + stepLengthMs(step), 0),
    },
  };
}

function newSoak(order: SoakOrder, taught: TaughtBefore | undefined): SoakSnapshot {
  return {
    order,
    history: taught?.history ?? null,
    counts: NO_COUNTS,
    legs: [],
    kept: 0,
    kinds: [],
    errors: [],
    sets: 0,
    newestSet: null,
    driftSets: [],
    tallies: 0,
    clockStepsMs: [],
  };
}

function foldNetWarm(run: FoldedRun, event: Extract<RunEvent, { kind: "net-warm" }>): FoldedRun {
  const found = { net: event.net, validMs: event.validMs, steadyMs: event.steadyMs };
  const known = run.warm.some(({ net }) => net === event.net);
  return {
    ...run,
    warm: known
      ? run.warm.map((one) => (one.net === event.net ? found : one))
      : [...run.warm, found],
  };
}

/** A fault names what of bench, rig or program went wrong; readings after it prove nothing. */
function foldFault(run: FoldedRun, event: Extract<RunEvent, { kind: "fault" }>): FoldedRun {
  return {
    ...run,
    account: doubted(run.account, event.message),
    firstMiss: run.firstMiss ?? {
      step: run.account.coverage?.step ?? null,
      net: event.net ?? "bench",
      volts: null,
      text: event.message,
    },
  };
}

function foldControllerEvent(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "controller-event" }>,
): FoldedRun {
  // A dead-man that was waited for did what it is there for.
  if (event.event === "dead-man" && run.phase === "testing the dead-man") return run;
  const text = controllerEventText(event);
  return {
    ...run,
    account: doubted(run.account, text),
    firstMiss: run.firstMiss ?? {
      step: run.account.coverage?.step ?? null,
      net: event.channel ?? "controller",
      volts: event.volts,
      text,
    },
  };
}

function foldClosed(run: FoldedRun, event: Extract<RunEvent, { kind: "run-closed" }>): FoldedRun {
  const own = verdictAtEnd(run, event.cause);
  const disagreement: LogLine[] =
    own === event.verdict
      ? []
      : [
          {
            ms: run.ms,
            text: `the journal was closed as ${event.verdict}, its readings say ${own}; the worse counts`,
            weight: "bad",
          },
        ];
  return {
    ...run,
    phase: "ended",
    hold: null,
    hand: null,
    freeze: null,
    standby: null,
    verdict: worseVerdict(own, event.verdict),
    cause: event.cause,
    detail: event.detail,
    steps: run.steps.map((step) =>
      step.state === "waiting" || step.state === "running"
        ? { ...step, state: "not tested" }
        : step,
    ),
    log: [...run.log, ...disagreement],
  };
}
