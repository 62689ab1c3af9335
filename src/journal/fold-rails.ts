/** Rails in the fold: gates, looks, and how each fall is known. */
import type { ChannelReading, Phase, RunEvent } from "../events/events.ts";
import type { RailName } from "../events/levels.ts";
import type { PlannedRail } from "../events/plan.ts";
import { voltsText, windowText } from "../measure/volts-text.ts";
import { doubted, type FoldedRun } from "./account.ts";
import { withReadings } from "./fold-channels.ts";
import { fallText, shutGateText } from "./log-text.ts";
import type { RailSnapshot } from "./snapshot.ts";

/** Phases in which a rail outside its window makes every reading worthless. */
const RAILS_MATTER: ReadonlySet<Phase> = new Set(["warming up", "stepping", "holding"]);

export function foldRailSwitched(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "rail-switched" }>,
): FoldedRun {
  const { rail, on } = event;
  const { account } = run;
  return {
    ...run,
    rails: withRail(run.rails, rail, (one) => ({
      ...one,
      on,
      inWindow: null,
      fall: on ? null : one.fall,
      fallV: on ? null : one.fallV,
      ...(event.takenOverMs === undefined ? {} : { takenOverMs: event.takenOverMs }),
    })),
    account: {
      ...account,
      raised: on && !account.raised.includes(rail) ? [...account.raised, rail] : account.raised,
      heatersOnMs:
        rail === "heater" && on && account.heatersOnMs === null
          ? run.ms - (event.takenOverMs ?? 0)
          : account.heatersOnMs,
    },
  };
}

export function foldGate(run: FoldedRun, event: Extract<RunEvent, { kind: "gate" }>): FoldedRun {
  const seen = withRailReadings(withReadings(run, [event.reading]), [event.reading]);
  if (event.open) {
    const gate = `${event.rail} ${event.gate}`;
    const { gatesOpen } = seen.account;
    return gatesOpen.includes(gate)
      ? seen
      : { ...seen, account: { ...seen.account, gatesOpen: [...gatesOpen, gate] } };
  }
  const text = shutGateText(event, run.plan);
  return {
    ...seen,
    account: doubted(seen.account, text),
    firstMiss: seen.firstMiss ?? {
      step: null,
      net: event.reading.channel,
      volts: event.reading.volts,
      text,
    },
  };
}

export function foldWatch(run: FoldedRun, event: Extract<RunEvent, { kind: "watch" }>): FoldedRun {
  const seen = withRailReadings(withReadings(run, event.readings), event.readings);
  if (!RAILS_MATTER.has(run.phase) || run.plan === null) {
    return seen;
  }
  const wasOutside = new Set(
    run.rails.filter((one) => one.inWindow === false).map((one) => one.rail),
  );
  return run.plan.rails.filter(({ rail }) => wasOutside.has(rail)).reduce(doubtOutsideWindow, seen);
}

/** One look alone may be a single disturbed conversion; the second in a row is the rail. */
function doubtOutsideWindow(run: FoldedRun, planned: PlannedRail): FoldedRun {
  const rail = run.rails.find((one) => one.rail === planned.rail);
  const boardV = rail?.boardV ?? null;
  if (!rail?.on || boardV === null || rail.inWindow !== false) {
    return run;
  }
  const text = `${planned.rail} at the board ${voltsText(boardV)}, outside ${windowText(rail.movedWindow ?? planned.window)}`;
  return {
    ...run,
    account: doubted(run.account, text),
    firstMiss: run.firstMiss ?? {
      step: run.account.coverage?.step ?? null,
      net: planned.boardChannel,
      volts: boardV,
      text,
    },
  };
}

export function foldRailFall(
  run: FoldedRun,
  event: Extract<RunEvent, { kind: "rail-fall" }>,
): FoldedRun {
  const fallen: FoldedRun = {
    ...run,
    rails: withRail(run.rails, event.rail, (one) => ({
      ...one,
      // With the link lost nobody could order it off: on or not, nothing holds it on any more.
      on: event.proof === "kept on" && one.on,
      fall: event.proof,
      fallV: event.volts,
      boardV: event.volts,
      inWindow: null,
    })),
  };
  if (event.proof !== "unproved" && event.proof !== "lead lost") {
    return fallen;
  }
  return {
    ...fallen,
    account: doubted(fallen.account, fallText(event)),
    firstMiss: fallen.firstMiss ?? {
      step: null,
      net: run.plan?.rails.find(({ rail }) => rail === event.rail)?.boardChannel ?? event.rail,
      volts: event.volts,
      text: fallText(event),
    },
  };
}

/** Share 1 is the plan's own window again. */
export function withWindow(
  rails: readonly RailSnapshot[],
  { rail, share, window }: Extract<RunEvent, { kind: "window-moved" }>,
): readonly RailSnapshot[] {
  return withRail(rails, rail, ({ movedWindow: _, ...one }) =>
    share === 1 ? one : { ...one, movedWindow: window },
  );
}

/** Volts of the rails from readings of their channels. */
function withRailReadings(run: FoldedRun, readings: readonly ChannelReading[]): FoldedRun {
  const planned = run.plan?.rails ?? [];
  const volts = new Map(readings.map((one) => [one.channel, one.volts]));
  const touched = planned.some(
    (one) => volts.has(one.sourceChannel) || volts.has(one.boardChannel),
  );
  if (!touched) {
    return run;
  }
  return {
    ...run,
    rails: run.rails.map((rail) => {
      const plan = planned.find((one) => one.rail === rail.rail);
      return plan === undefined ? rail : railWith(rail, plan, volts);
    }),
  };
}

function railWith(
  rail: RailSnapshot,
  plan: PlannedRail,
  volts: ReadonlyMap<string, number | null>,
): RailSnapshot {
  const sourceV = volts.get(plan.sourceChannel);
  const boardV = volts.get(plan.boardChannel);
  const shuntV = plan.current === undefined ? undefined : volts.get(plan.current.channel);
  const drawn = shuntV === undefined ? rail : { ...rail, currentA: amperes(shuntV, plan) };
  const next = sourceV === undefined ? drawn : { ...drawn, sourceV };
  if (boardV === undefined) {
    return next;
  }
  const { lowV, highV } = rail.movedWindow ?? plan.window;
  return {
    ...next,
    boardV,
    inWindow: rail.on && boardV !== null ? boardV >= lowV && boardV <= highV : null,
  };
}

/** A positive supply's return goes below common by what it draws, a negative one's above. */
function amperes(shuntV: number | null, { current, nominalV }: PlannedRail): number | null {
  if (shuntV === null || current === undefined) return null;
  return ((nominalV > 0 ? -1 : 1) * shuntV) / current.ohm;
}

function withRail(
  rails: readonly RailSnapshot[],
  name: RailName,
  change: (rail: RailSnapshot) => RailSnapshot,
): RailSnapshot[] {
  return rails.map((one) => (one.rail === name ? change(one) : one));
}
