/** Steps, holds, rails and gaps of a record, each from the entries that tell of it. */
import type { FallProof, JournalEntry, RunEvent } from "../events/events.ts";
import type { ExpectedClasses, HoldStep, Plan, PlannedRail } from "../events/plan.ts";
import type { FoldedRun } from "../journal/account.ts";
import type { StepState } from "../journal/snapshot.ts";
import type { HoldRecord, RailRecord, StepRecord } from "./acceptance-record.ts";
import { lastProgresses } from "./count-results.ts";

/** Rails are looked at about once a second; this long without a line, something stood still. */
const GAP_MS = 5_000;

type Result = StepRecord["result"];

export function stepRecords(entries: readonly JournalEntry[], run: FoldedRun): StepRecord[] {
  const readings = new Map<number, StepRecord["readings"][number][]>();
  for (const { event } of entries) {
    if (event.kind !== "reading") continue;
    const list = readings.get(event.step) ?? [];
    readings.set(event.step, list);
    for (const reading of event.readings) {
      const { channel, volts, expected, result, reason, limitV, marginV } = reading;
      const found = { channel, volts, expected, class: reading.class, result, reason };
      list.push({ part: event.part, ...found, limitV, marginV });
    }
  }
  return (run.plan?.steps ?? []).map(({ index, name, kind }) => ({
    step: index,
    name,
    kind,
    result: resultOf(run.steps[index]?.state),
    readings: readings.get(index) ?? [],
  }));
}

export function holdRecords(entries: readonly JournalEntry[], run: FoldedRun): HoldRecord[] {
  return lastProgresses(entries).flatMap((progress): HoldRecord[] => {
    const step = run.plan?.steps[progress.step];
    return step?.kind === "hold" ? [holdRecord(progress, step, run)] : [];
  });
}

function holdRecord(
  progress: Extract<RunEvent, { kind: "hold-progress" }>,
  step: HoldStep,
  run: FoldedRun,
): HoldRecord {
  const { part, elapsedMs, readingSets, moves, worst } = progress;
  // The first set is read at the beginning of a hold: n sets have n - 1 intervals.
  const meanIntervalMs = readingSets < 2 ? null : Math.round(elapsedMs / (readingSets - 1));
  const movedLines = moves > 0 ? step.move : [];
  const nets = expectText(part === "hold" ? step.expect : step.flip.expect);
  const moved =
    movedLines.length === 0 ? "no line moved" : `${movedLines.join(", ")} moved ${moves} times`;
  return {
    step: step.index,
    name: step.name,
    part,
    result: resultOf(run.steps[step.index]?.state),
    requiredMs: part === "hold" ? step.forMs : step.flip.forMs,
    heldMs: elapsedMs,
    readingSets,
    meanIntervalMs,
    movedLines,
    moves,
    extremes: worst,
    watched:
      meanIntervalMs === null
        ? `${nets} in ${readingSets} sets of readings, too few to hold anything`
        : `${nets} in ${readingSets} sets of readings over ${seconds(elapsedMs)}, ` +
          `one every ${meanIntervalMs} ms on average, while ${moved}`,
    notWatched: "what happened between two readings",
  };
}

export function railRecords(entries: readonly JournalEntry[], plan: Plan): RailRecord[] {
  return plan.rails.map((planned) => railRecord(entries, planned));
}

function railRecord(entries: readonly JournalEntry[], planned: PlannedRail): RailRecord {
  let sourceV: number | null = null;
  let boardV: number | null = null;
  let riseMs: number | null = null;
  let raised = false;
  let takenOver = false;
  let fall: { proof: FallProof; volts: number | null; tookMs: number | null } | null = null;
  for (const { event } of entries) {
    if (!("rail" in event) || event.rail !== planned.rail) continue;
    if (event.kind === "gate" && event.gate === "source") {
      sourceV = event.reading.volts;
    } else if (event.kind === "gate") {
      boardV = event.reading.volts;
      // A later look at the same gate, such as at bias before plate, has not waited for a rise.
      riseMs = riseMs ?? (takenOver ? null : event.waitedMs);
    } else if (event.kind === "rail-switched" && event.on) {
      raised = true;
      takenOver = event.takenOverMs !== undefined;
    } else if (event.kind === "rail-fall") {
      fall = event;
    }
  }
  const { rail, nominalV, window, ceilingV } = planned;
  return {
    rail,
    nominalV,
    lowV: window.lowV,
    highV: window.highV,
    ceilingV,
    sourceV,
    boardV,
    riseMs,
    fall: fall?.proof ?? (raised ? "unproved" : "never raised"),
    fallV: fall?.volts ?? null,
    fallMs: fall?.tookMs ?? null,
  };
}

/** Where the journal says nothing about a time in which rails were up, and whether it ends whole. */
export function gapTexts(
  entries: readonly JournalEntry[],
  tornLine: number | null,
  run: FoldedRun,
): string[] {
  const gaps: string[] = [];
  const up = new Set<string>();
  let lastMs = 0;
  for (const { ms, event } of entries) {
    if (up.size > 0 && ms - lastMs > GAP_MS) {
      gaps.push(
        `nothing was sealed from ${seconds(lastMs)} to ${seconds(ms)} although rails were up`,
      );
    }
    lastMs = ms;
    if (event.kind === "rail-switched") {
      if (event.on) up.add(event.rail);
      else up.delete(event.rail);
    }
  }
  if (tornLine !== null) {
    gaps.push(`line ${tornLine} of the journal was torn and is not counted`);
  }
  if (run.cause === null) {
    gaps.push("the journal was never closed: the run was cut off, its end is not known");
  }
  return gaps;
}

function resultOf(state: StepState | undefined): Result {
  return state === undefined || state === "waiting" || state === "running" ? "not tested" : state;
}

function expectText(expect: ExpectedClasses): string {
  return Object.entries(expect)
    .map(([net, level]) => `${net} ${level}`)
    .join(", ");
}

function seconds(ms: number): string {
  return `${(ms / 1000).toFixed(1)} s`;
}
