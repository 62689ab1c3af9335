/** Required results of a run, counted per net and class, with the worst case of each. */
import type { JudgedReading, RunEvent } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { goesOn } from "../verdict/decision-rule.ts";
import { judgeDrivenLine, judgeReading, senderRoom } from "../verdict/judge.ts";
import type { ResultTotal, WorstCase } from "./acceptance-record.ts";

export type HoldProgress = Extract<RunEvent, { kind: "hold-progress" }>;
type Reading = Extract<RunEvent, { kind: "reading" }>;

/** One net at one class, with the place of its first result among all results. */
interface Counted {
  readonly total: ResultTotal;
  readonly firstAt: number;
  readonly worstAt: number;
}

type Tally = Map<string, Counted>;

export class ResultFold {
  readonly #plan: Plan;
  readonly #lines: ReadonlySet<string | null>;
  readonly #tally: Tally = new Map();
  /** Results of a hold that were as expected: they count only if its progress never counts them. */
  readonly #perhaps = new Map<string, Tally>();
  readonly #progresses = new Map<string, HoldProgress>();
  #at = 0;

  constructor(plan: Plan) {
    this.#plan = plan;
    this.#lines = new Set(plan.lines.map(({ channel }) => channel));
  }

  /** The last progress of each hold and flip: it counts every set taken until then. */
  get progresses(): HoldProgress[] {
    return [...this.#progresses.values()];
  }

  takeReading({ step, part, readings }: Reading): void {
    const key = `${step} ${part}`;
    for (const reading of readings) {
      const tally = goesOn(reading.result) ? this.#perhapsOf(key) : this.#tally;
      this.#add(tally, reading, { step, count: 1 });
    }
  }

  takeProgress(progress: HoldProgress): void {
    this.#progresses.set(`${progress.step} ${progress.part}`, progress);
  }

  /** Totals in the order in which their first result was read. */
  totals(): ResultTotal[] {
    const tally: Tally = new Map(this.#tally);
    for (const [key, one] of this.#perhaps) {
      if ((this.#progresses.get(key)?.readingSets ?? 0) === 0) merge(tally, one);
    }
    const inOrder = [...tally].sort(([, one], [, other]) => one.firstAt - other.firstAt);
    const whole: Tally = new Map(inOrder);
    for (const progress of this.#progresses.values()) this.#addProgress(whole, progress);
    return [...whole.values()].map(({ total }) => total);
  }

  #perhapsOf(key: string): Tally {
    const known = this.#perhaps.get(key) ?? new Map();
    this.#perhaps.set(key, known);
    return known;
  }

  #addProgress(tally: Tally, { step, part, readingSets, worst }: HoldProgress): void {
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
      const judged = judgeReading(reading, expected, this.#plan);
      this.#add(tally, judged, { step, count: readingSets });
    }
  }

  #add(
    tally: Tally,
    reading: JudgedReading,
    { step, count }: { readonly step: number; readonly count: number },
  ): void {
    const { channel, expected, result } = reading;
    const before = this.#empty(channel, expected);
    this.#at += 1;
    const one: Counted = {
      firstAt: this.#at,
      worstAt: this.#at,
      total: {
        ...before,
        count,
        passed: result === "pass" ? count : 0,
        conditionallyPassed: result === "conditional pass" ? count : 0,
        conditionallyFailed: result === "conditional fail" ? count : 0,
        failed: result === "fail" ? count : 0,
        voided: result === "void" ? count : 0,
        worst: this.#caseOf(reading, step),
      },
    };
    put(tally, `${channel} ${expected}`, one);
  }

  #empty(
    channel: string,
    expected: LevelClass,
  ): Pick<ResultTotal, "channel" | "kind" | "expected"> {
    const kind = this.#lines.has(channel) ? "driven line" : "net";
    return { channel, kind, expected };
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

/** Both counts in one; of two worst cases alike the earlier stays. */
function merge(into: Tally, from: Tally): void {
  for (const [key, other] of from) put(into, key, other);
}

function put(into: Tally, key: string, other: Counted): void {
  const one = into.get(key);
  into.set(key, one === undefined ? other : merged(one, other));
}

function merged(one: Counted, other: Counted): Counted {
  const takesOther =
    one.total.worst === null ||
    (other.total.worst !== null && isWorse(other, one, other.total.worst, one.total.worst));
  const { worstAt, total } = takesOther ? other : one;
  return {
    firstAt: Math.min(one.firstAt, other.firstAt),
    worstAt,
    total: {
      ...one.total,
      count: one.total.count + other.total.count,
      passed: one.total.passed + other.total.passed,
      conditionallyPassed: one.total.conditionallyPassed + other.total.conditionallyPassed,
      conditionallyFailed: one.total.conditionallyFailed + other.total.conditionallyFailed,
      failed: one.total.failed + other.total.failed,
      voided: one.total.voided + other.total.voided,
      worst: total.worst,
    },
  };
}

function isWorse(one: Counted, other: Counted, mine: WorstCase, its: WorstCase): boolean {
  return (
    mine.marginV < its.marginV || (mine.marginV === its.marginV && one.worstAt < other.worstAt)
  );
}
