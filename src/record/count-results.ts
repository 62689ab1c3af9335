/** Required results of a run, counted per net and class, with the worst case of each. */
import type { JournalEntry, JudgedReading, RunEvent } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { goesOn } from "../verdict/decision-rule.ts";
import { judgeDrivenLine, judgeReading, senderRoom } from "../verdict/judge.ts";
import type { ResultTotal, WorstCase } from "./acceptance-record.ts";

type HoldProgress = Extract<RunEvent, { kind: "hold-progress" }>;
type Reading = Extract<RunEvent, { kind: "reading" }>;

/** The last progress of each hold and flip: it counts every set taken until then. */
export function lastProgresses(entries: readonly JournalEntry[]): HoldProgress[] {
  const last = new Map<string, HoldProgress>();
  for (const { event } of entries) {
    if (event.kind === "hold-progress") {
      last.set(`${event.step} ${event.part}`, event);
    }
  }
  return [...last.values()];
}

/** Totals in the order in which their first result was read. */
export function countResults(entries: readonly JournalEntry[], plan: Plan): ResultTotal[] {
  const totals = new Totals(plan);
  const progresses = lastProgresses(entries);
  for (const { event } of entries) {
    if (event.kind === "reading") {
      totals.takeReading(event, progresses);
    }
  }
  for (const progress of progresses) {
    totals.takeProgress(progress);
  }
  return totals.list();
}

class Totals {
  readonly #plan: Plan;
  readonly #lines: ReadonlySet<string | null>;
  readonly #byKey = new Map<string, ResultTotal>();

  constructor(plan: Plan) {
    this.#plan = plan;
    this.#lines = new Set(plan.lines.map(({ channel }) => channel));
  }

  list(): ResultTotal[] {
    return [...this.#byKey.values()];
  }

  takeReading(event: Reading, progresses: readonly HoldProgress[]): void {
    // Sets that were as expected are in the count of the hold's progress already.
    const inProgress = progresses.some(
      ({ step, part, readingSets }) =>
        step === event.step && part === event.part && readingSets > 0,
    );
    for (const reading of event.readings) {
      if (!(inProgress && goesOn(reading.result))) {
        this.#add(reading, event.step, 1);
      }
    }
  }

  takeProgress({ step, part, readingSets, worst }: HoldProgress): void {
    const planned = this.#plan.steps[step];
    if (planned?.kind !== "hold") {
      return;
    }
    const expect = part === "hold" ? planned.expect : planned.flip.expect;
    for (const [channel, { lowV, highV, expandedV }] of Object.entries(worst)) {
      const expected = expect[channel];
      if (expected === undefined) continue;
      const volts = expected === "high" ? lowV : highV;
      const codes = { sum: 0, count: 0, min: 0, max: 0 };
      const reading = { channel, volts, noReading: null, ...codes, expandedV };
      // Of a hold the extremes are kept: all its sets have the class of the worst.
      this.#add(judgeReading(reading, expected, this.#plan), step, readingSets);
    }
  }

  #add(reading: JudgedReading, step: number, count: number): void {
    const { channel, expected, result } = reading;
    const key = `${channel} ${expected}`;
    const before = this.#byKey.get(key) ?? this.#empty(channel, expected);
    this.#byKey.set(key, {
      ...before,
      count: before.count + count,
      passed: before.passed + (result === "pass" ? count : 0),
      conditionallyPassed: before.conditionallyPassed + (result === "conditional pass" ? count : 0),
      conditionallyFailed: before.conditionallyFailed + (result === "conditional fail" ? count : 0),
      failed: before.failed + (result === "fail" ? count : 0),
      voided: before.voided + (result === "void" ? count : 0),
      worst: worse(before.worst, this.#caseOf(reading, step)),
    });
  }

  #empty(channel: string, expected: LevelClass): ResultTotal {
    const kind = this.#lines.has(channel) ? "driven line" : "net";
    const counts = { passed: 0, conditionallyPassed: 0, conditionallyFailed: 0, failed: 0 };
    return { channel, kind, expected, count: 0, ...counts, voided: 0, worst: null };
  }

  /** Margins of one net are compared against one limit, whichever limit decided each result. */
  #caseOf({ channel, volts, expected, ...rest }: JudgedReading, step: number): WorstCase | null {
    if (volts === null) {
      return null;
    }
    const { contract } = this.#plan;
    if (this.#lines.has(channel) && expected !== "between") {
      const { limitV, marginV } = judgeDrivenLine({ ...rest, channel, volts }, expected, contract);
      return limitV === null || marginV === null ? null : { volts, limitV, marginV, step };
    }
    const room = senderRoom(volts, expected, contract);
    const { expandedV } = rest;
    return { volts, ...room, step, ...(expandedV === undefined ? {} : { expandedV }) };
  }
}

function worse(one: WorstCase | null, other: WorstCase | null): WorstCase | null {
  if (one === null || other === null) {
    return one ?? other;
  }
  return other.marginV < one.marginV ? other : one;
}
