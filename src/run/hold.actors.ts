/** The work behind a hold proof: pulses, the look at the inactive lines, the disturbed watch. */
import type { JudgedReading } from "../events/events.ts";
import type { ResultClass } from "../events/levels.ts";
import type { ExpectedClasses, HoldStep, LineLevels } from "../events/plan.ts";
import { goesOn, worstResult } from "../verdict/decision-rule.ts";
import { driveLines } from "./hands.ts";
import type { HoldPart, HoldPartInput, HoldWatchInput } from "./hold.machine.ts";
import { type HoldDue, nextDue } from "./hold-schedule.ts";
import { HoldTally } from "./hold-tally.ts";
import { outcomeOf, readAndJudge } from "./judge-set.ts";
import type { DrivenLine } from "./line-book.ts";
import type { StepOutcome } from "./machine-words.ts";
import type { RunParts } from "./run-parts.ts";
import { holdProgressEveryMs, stateDeadlineMs } from "./timing.ts";
import { worker } from "./worker.ts";

export function holdActors(parts: RunParts) {
  const hold = new HoldWork(parts);
  return {
    enter: worker<HoldPartInput, void>(parts, {
      name: "entering a hold",
      run: (input) => hold.enter(input),
    }),
    release: worker<HoldPartInput, void>(parts, {
      name: "releasing a hold's lines",
      run: ({ step, part }) => driveLines(pulseOf(step, part).release, parts),
    }),
    settle: worker<{ settleMs: number }, void>(parts, {
      name: "settling in a hold",
      limitMs: ({ settleMs }) => settleMs + stateDeadlineMs,
      run: ({ settleMs }, signal) => parts.clock.delay(settleMs, signal),
    }),
    readInactive: worker<HoldPartInput, StepOutcome>(parts, {
      name: "reading the inactive lines",
      run: (input, signal) => hold.readInactive(input, signal),
    }),
    beginWatch: worker<HoldPartInput, number>(parts, {
      name: "beginning a hold",
      run: async () => hold.begin(),
    }),
    waitUntilDue: worker<HoldWatchInput, HoldDue>(parts, {
      name: "waiting in a hold",
      limitMs: ({ step }) => step.readEveryMs + stateDeadlineMs,
      run: (input, signal) => hold.waitUntilDue(input, signal),
    }),
    moveLine: worker<HoldWatchInput, void>(parts, {
      name: "moving a line in a hold",
      run: (input) => hold.move(input),
    }),
    readSet: worker<HoldWatchInput, StepOutcome>(parts, {
      name: "reading a hold",
      run: (input, signal) => hold.readSet(input, signal),
    }),
    endWatch: worker<HoldWatchInput, void>(parts, {
      name: "ending a hold",
      run: (input) => hold.end(input),
    }),
    close: worker<{ step: HoldStep; result: StepOutcome["result"] }, void>(parts, {
      name: "closing a hold",
      run: async ({ step, result }) => {
        // A hold that was broken off by the end of the run has no result.
        parts.latch.assertOpen("closing a hold");
        const found = result === "pass" ? hold.worst : result;
        hold.closed(step, found);
        parts.scribe.write({ kind: "step-ended", step: step.index, result: found });
      },
    }),
  };
}

interface Pulse {
  readonly enter: LineLevels;
  readonly release: LineLevels;
  readonly expect: ExpectedClasses;
  readonly forMs: number;
}

function pulseOf(step: HoldStep, part: HoldPart): Pulse {
  return part === "hold" ? step : step.flip;
}

class HoldWork {
  readonly #parts: RunParts;
  #tally = new HoldTally();
  #toldMs = 0;
  #toldSets = 0;
  #worst: ResultClass = "pass";
  /** Index of the last step that held with readings at its ends alone. */
  #heldLightly: number | null = null;
  /** Where the moved lines stood when the watch began. */
  #stood: LineLevels = {};

  constructor(parts: RunParts) {
    this.#parts = parts;
  }

  async enter({ step, part }: HoldPartInput): Promise<void> {
    const { scribe } = this.#parts;
    if (part === "hold") {
      this.#worst = "pass";
      scribe.phase("holding");
      scribe.write({ kind: "step-begun", step: step.index, name: step.name });
      if (step.note !== null) scribe.write({ kind: "remark", text: step.note });
    }
    await driveLines(pulseOf(step, part).enter, this.#parts);
  }

  /** Only lines here: whether the state was reached is for the watch to say. */
  async readInactive({ step, part }: HoldPartInput, signal: AbortSignal): Promise<StepOutcome> {
    const where = `hold "${step.name}", inactive lines before its ${part}`;
    const set = await readAndJudge({ expect: {}, lines: this.#driven(step), where }, this.#parts);
    signal.throwIfAborted();
    this.#write(step, "inactive", set.readings);
    return outcomeOf(set);
  }

  /** Worst result of the sets of the present hold and flip. */
  get worst(): ResultClass {
    return this.#worst;
  }

  /** A hold read at its ends alone and the one after it tell together whether reading disturbs. */
  closed({ index, light, name }: HoldStep, result: ResultClass): void {
    if (!goesOn(result)) return;
    if (light === true) this.#heldLightly = index;
    else if (this.#heldLightly === index - 1) {
      const text = `"${name}" held alike, read at its ends alone and read throughout: reading does not disturb it`;
      this.#parts.scribe.write({ kind: "remark", text });
    }
  }

  #tellDisturbed({ name, readEveryMs }: HoldStep): void {
    const text =
      `"${name}" held when it was read at its two ends alone and does not when it is read every ${readEveryMs} ms. ` +
      "Reading may disturb it: try shorter leads, a larger topOhm, or a buffer";
    this.#parts.scribe.write({ kind: "remark", text });
  }

  begin(): number {
    this.#tally = new HoldTally();
    this.#stood = {};
    this.#toldSets = 0;
    this.#toldMs = this.#parts.clock.nowMs();
    return this.#toldMs;
  }

  async waitUntilDue(input: HoldWatchInput, signal: AbortSignal): Promise<HoldDue> {
    const { clock } = this.#parts;
    const due = nextDue(timingOf(input), input);
    // A timer may fire a little early, and a hold may not be a little short.
    let leftMs = input.startMs + due.atMs - clock.nowMs();
    while (leftMs > 0) {
      await clock.delay(leftMs, signal);
      leftMs = input.startMs + due.atMs - clock.nowMs();
    }
    return due;
  }

  /** One line a move, in turn, so that every line crosses every state of its neighbours. */
  async move({ step, moves }: HoldWatchInput): Promise<void> {
    const { lines } = this.#parts;
    const line = step.move[moves % Math.max(1, step.move.length)];
    if (line === undefined) return;
    const level = lines.levelOf(line);
    this.#stood = { [line]: level, ...this.#stood };
    await driveLines({ [line]: level === "high" ? "low" : "high" }, this.#parts);
  }

  async readSet(input: HoldWatchInput, signal: AbortSignal): Promise<StepOutcome> {
    const { clock } = this.#parts;
    const { step, part } = input;
    const where = `hold "${step.name}", ${part === "hold" ? "held" : "flipped"}`;
    const { expect } = pulseOf(step, part);
    const set = await readAndJudge({ expect, lines: this.#driven(step), where }, this.#parts);
    signal.throwIfAborted();
    if (!goesOn(set.result)) {
      if (part === "hold" && this.#heldLightly === step.index - 1) this.#tellDisturbed(step);
      this.#progress(input);
      this.#write(step, part, set.readings);
      return outcomeOf(set);
    }
    this.#worst = worstResult([this.#worst, set.result]);
    this.#tally.take(set.readings.filter(({ channel }) => Object.hasOwn(expect, channel)));
    if (clock.nowMs() - this.#toldMs >= holdProgressEveryMs) this.#progress(input);
    return { result: "pass", ending: null };
  }

  /** The moved lines go back to where they stood, so that later steps begin as planned. */
  async end(input: HoldWatchInput): Promise<void> {
    const { lines } = this.#parts;
    this.#progress(input);
    const back = Object.entries(this.#stood).filter(
      ([line, level]) => lines.levelOf(line) !== level,
    );
    await driveLines(Object.fromEntries(back), this.#parts);
  }

  /**
   * The inactive lines at the level the step names, and every other line that stood still long
   * enough to have a level; one just moved is still on its way.
   */
  #driven(step: HoldStep): DrivenLine[] {
    const { clock, lines } = this.#parts;
    const nowMs = clock.nowMs();
    return lines.readBack().flatMap((line) => {
      const inactive = step.inactive[line.line];
      if (inactive !== undefined) return [{ ...line, level: inactive }];
      return nowMs - line.sinceMs >= step.settleMs ? [line] : [];
    });
  }

  #write(step: HoldStep, part: HoldPart | "inactive", readings: readonly JudgedReading[]): void {
    this.#parts.scribe.write({ kind: "reading", step: step.index, part, readings });
  }

  /** Where the hold stands, unless that was the last thing told. */
  #progress({ step, part, startMs, moves }: HoldWatchInput): void {
    const { clock, scribe } = this.#parts;
    const { readingSets } = this.#tally;
    if (readingSets === this.#toldSets) return;
    this.#toldSets = readingSets;
    this.#toldMs = clock.nowMs();
    scribe.write({
      kind: "hold-progress",
      step: step.index,
      part,
      elapsedMs: Math.round(this.#toldMs - startMs),
      forMs: pulseOf(step, part).forMs,
      readingSets,
      moves,
      worst: this.#tally.worst(),
    });
  }
}

function timingOf({ step, part }: HoldPartInput) {
  const { readEveryMs, moveEveryMs, move } = step;
  return { forMs: pulseOf(step, part).forMs, readEveryMs, moveEveryMs, moveCount: move.length };
}
