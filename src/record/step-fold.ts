/** Steps and holds of a record. */
import type { RunEvent } from "../events/events.ts";
import type { ExpectedClasses, HoldStep } from "../events/plan.ts";
import type { FoldedRun } from "../journal/account.ts";
import type { StepState } from "../journal/snapshot.ts";
import type { HoldRecord, StepRecord } from "./acceptance-record.ts";
import { seconds } from "./record-words.ts";
import type { HoldProgress } from "./result-fold.ts";

type Result = StepRecord["result"];

/** Readings written one by one, by step. */
export class StepFold {
  readonly #readings = new Map<number, StepRecord["readings"][number][]>();

  take({ step, part, readings }: Extract<RunEvent, { kind: "reading" }>): void {
    const list = this.#readings.get(step) ?? [];
    this.#readings.set(step, list);
    for (const reading of readings) {
      const { channel, volts, expected, result, reason, limitV, marginV } = reading;
      const found = { channel, volts, expected, class: reading.class, result, reason };
      list.push({ part, ...found, limitV, marginV });
    }
  }

  records(run: FoldedRun): StepRecord[] {
    return (run.plan?.steps ?? []).map(({ index, name, kind }) => ({
      step: index,
      name,
      kind,
      result: resultOf(run.steps[index]?.state),
      readings: this.#readings.get(index) ?? [],
    }));
  }
}

export function holdRecords(progresses: readonly HoldProgress[], run: FoldedRun): HoldRecord[] {
  return progresses.flatMap((progress): HoldRecord[] => {
    const step = run.plan?.steps[progress.step];
    return step?.kind === "hold" ? [holdRecord(progress, step, run)] : [];
  });
}

function holdRecord(progress: HoldProgress, step: HoldStep, run: FoldedRun): HoldRecord {
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

function resultOf(state: StepState | undefined): Result {
  return state === undefined || state === "waiting" || state === "running" ? "not tested" : state;
}

function expectText(expect: ExpectedClasses): string {
  return Object.entries(expect)
    .map(([net, level]) => `${net} ${level}`)
    .join(", ");
}
