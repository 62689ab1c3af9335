/** A soak, folded: legs, sealed counts, errors sorted into kinds. */
import type { RunEvent } from "../events/events.ts";
import { type SoakEvent, STEADY_CYCLES } from "../events/soak.ts";
import { EMPTY_ACCOUNT, type FoldedRun } from "./account.ts";
import { withReadings } from "./fold-channels.ts";
import { withWindow } from "./fold-rails.ts";
import { withAfter, withDriftSet, withError } from "./keep-of-soak.ts";
import type { ErrorClass, ErrorKind, LegSnapshot, SoakSnapshot } from "./soak-snapshot.ts";

const SOAK_KINDS: ReadonlySet<string> = new Set<SoakEvent["kind"]>([
  "leg-begun",
  "leg-ended",
  "soak-tally",
  "soak-readings",
  "window-moved",
  "cycle-error",
  "cycle-error-after",
  "clock-step",
]);

/** What a power cycle is counted by: a leg that ends before it wears nothing that plate wears. */
export function isPlateComingOn(event: RunEvent): boolean {
  return event.kind === "rail-switched" && event.rail === "plate" && event.on;
}

/** Counted at once: the tally that would tell of it may never come. */
export function withPowerCycle(run: FoldedRun): FoldedRun {
  const { soak } = run;
  if (soak === undefined) return run;
  const counts = { ...soak.counts, powerCycles: soak.counts.powerCycles + 1 };
  return { ...run, soak: { ...soak, counts } };
}

export function isOfSoak(event: { readonly kind: string }): event is SoakEvent {
  return SOAK_KINDS.has(event.kind);
}

export function foldSoak(run: FoldedRun, event: SoakEvent): FoldedRun {
  const { soak } = run;
  if (soak === undefined) return run;
  switch (event.kind) {
    case "leg-begun":
      return foldLegBegun(run, soak, event);
    case "leg-ended": {
      const { cause, detail, provedOff, brokeOffMoving } = event;
      const end = {
        cause,
        detail,
        provedOff,
        ...(brokeOffMoving === undefined ? {} : { brokeOffMoving }),
      };
      return { ...run, soak: withNewestLeg(soak, (leg) => ({ ...leg, end })) };
    }
    case "soak-tally":
      return { ...run, soak: { ...soak, counts: event.counts, tallies: soak.tallies + 1 } };
    case "soak-readings":
      return foldSet(run, soak, event);
    case "window-moved":
      return { ...run, rails: withWindow(run.rails, event) };
    case "cycle-error":
      return foldError(run, soak, event);
    case "cycle-error-after":
      return { ...run, soak: { ...soak, errors: withAfter(soak.errors, event) } };
    case "clock-step": {
      const clockStepsMs = [...soak.clockStepsMs, event.stepMs].slice(-CLOCK_STEPS_MAX);
      return { ...run, soak: { ...soak, clockStepsMs } };
    }
  }
}

/** A clock that is set again and again is one finding, however often. */
const CLOCK_STEPS_MAX = 50;

/**
 * A leg has supplies, warm-up and proofs of its own. What made the leg before doubtful stays with that
 * leg: the choice to go on was made beforehand.
 */
function foldLegBegun(
  run: FoldedRun,
  soak: SoakSnapshot,
  event: Extract<SoakEvent, { kind: "leg-begun" }>,
): FoldedRun {
  const { leg, why, wall, gapMs, tornBytes } = event;
  const { account } = run;
  const before = withNewestLeg(soak, (one) => ({ ...one, doubts: account.doubts }));
  const begun: LegSnapshot = {
    leg,
    why,
    beganMs: run.ms,
    wall,
    gapMs,
    tornBytes,
    end: null,
    doubts: [],
  };
  return {
    ...run,
    soak: { ...before, legs: [...before.legs, begun] },
    rails: run.rails.map(({ movedWindow: _, ...rail }) => ({
      ...rail,
      on: false,
      fall: null,
      fallV: null,
    })),
    warm: run.warm.map(({ net }) => ({ net, validMs: null, steadyMs: null })),
    warmUpMs: null,
    account: {
      ...EMPTY_ACCOUNT,
      conditionallyPassed: account.conditionallyPassed,
      conditionallyFailed: account.conditionallyFailed,
      failed: account.failed,
      passed: account.passed,
    },
  };
}

function withNewestLeg(
  soak: SoakSnapshot,
  change: (leg: LegSnapshot) => LegSnapshot,
): SoakSnapshot {
  const newest = soak.legs.at(-1);
  return newest === undefined
    ? soak
    : { ...soak, legs: [...soak.legs.slice(0, -1), change(newest)] };
}

/** A full set is judged under the rule of the board; single conversions of a cycle are simply classed. */
function foldSet(
  run: FoldedRun,
  soak: SoakSnapshot,
  event: Extract<SoakEvent, { kind: "soak-readings" }>,
): FoldedRun {
  if (event.moment === "heater low") {
    // Levels of a condition that the board is not made for: they bear upon drift, and on no verdict.
    return { ...run, soak: { ...soak, sets: event.set, driftSets: withDriftSet(soak, event) } };
  }
  const readings = event.steps.flatMap((one) => one.readings);
  const having = (result: string) => readings.filter((one) => one.result === result).length;
  const { account } = run;
  return {
    ...withReadings(run, readings),
    soak: {
      ...soak,
      sets: event.set,
      newestSet: { ms: run.ms, moment: event.moment },
      driftSets: withDriftSet(soak, event),
    },
    account: {
      ...account,
      passed: account.passed + having("pass"),
      conditionallyPassed: account.conditionallyPassed + having("conditional pass"),
      conditionallyFailed: account.conditionallyFailed + having("conditional fail"),
      failed: account.failed + having("fail"),
    },
  };
}

function foldError(
  run: FoldedRun,
  soak: SoakSnapshot,
  event: Extract<SoakEvent, { kind: "cycle-error" }>,
): FoldedRun {
  const off = event.readings.find(({ result }) => result === "fail");
  const net = off?.channel ?? "bench";
  const { error, cycle, step, wall } = event;
  const moment = { error, cycle, ms: run.ms, wall, volts: off?.volts ?? null };
  const known = soak.kinds.find((one) => one.step === step && one.net === net);
  const kind = known === undefined ? firstOf({ step, net }, moment) : onceMore(known, moment);
  const others = soak.kinds.filter((one) => one !== known);
  const errors = withError(soak.errors, { ms: run.ms, isFirst: known === undefined, event });
  const name = soak.order.cycle[step]?.name ?? "";
  const read = moment.volts === null ? "no volts" : `${moment.volts.toFixed(2)} V`;
  return {
    ...run,
    soak: { ...soak, kept: error, kinds: [...others, kind], errors },
    account: { ...run.account, failed: run.account.failed + 1 },
    firstMiss: run.firstMiss ?? {
      step: null,
      net,
      volts: moment.volts,
      text: `cycle ${cycle}, step "${name}": ${net} read ${read}, expected ${off?.expected ?? "a level"}`,
    },
  };
}

function firstOf(where: Pick<ErrorKind, "step" | "net">, moment: ErrorKind["first"]): ErrorKind {
  return {
    ...where,
    class: "transient",
    cycles: 1,
    times: 1,
    longest: 1,
    onEnd: 1,
    lastCycle: moment.cycle,
    first: moment,
    last: moment,
  };
}

function onceMore(known: ErrorKind, moment: ErrorKind["first"]): ErrorKind {
  const goesOn = moment.cycle <= known.lastCycle + 1;
  const onEnd = goesOn ? known.onEnd + 1 : 1;
  const times = known.times + (goesOn ? 0 : 1);
  const longest = Math.max(known.longest, onEnd);
  return {
    ...known,
    class: classOf({ times, longest }),
    cycles: known.cycles + 1,
    times,
    longest,
    onEnd,
    lastCycle: moment.cycle,
    last: moment,
  };
}

function classOf({ times, longest }: { times: number; longest: number }): ErrorClass {
  if (longest >= STEADY_CYCLES) return "steady";
  return times > 1 ? "intermittent" : "transient";
}
