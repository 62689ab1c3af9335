/**
 * The work behind a soak: cycle after cycle at its pace, a full set of readings now and then, standing
 * still where the sequence asks for it, and a tally at the end of every turn. A turn is short, so that a
 * hang is seen and what was counted is soon sealed.
 */
import type { CycleVolts, SetMoment } from "../events/soak.ts";
import type { RunConduct } from "./conduct.ts";
import { within } from "./deadline.ts";
import { type Ending, ending, RunFault } from "./ending.ts";
import { driveLines } from "./hands.ts";
import { releasedLevels } from "./line-book.ts";
import { understandScan } from "./look.ts";
import { findRailTrouble } from "./rail-checks.ts";
import type { RunParts } from "./run-parts.ts";
import { type CycleResult, longestSoakTurnMs, type SoakBook } from "./soak-book.ts";
import { SoakCycle } from "./soak-cycle.ts";
import { SoakErrors } from "./soak-errors.ts";
import { takeSet } from "./soak-set.ts";
import { heartbeatDeadlineMs, leastRestMs, soakTurnMs, stateDeadlineMs } from "./timing.ts";
import { GOES_ON, type Turn } from "./turn.ts";
import { WallWatch } from "./wall-watch.ts";
import { worker } from "./worker.ts";

export function soakActors(parts: RunParts, { soak }: RunConduct) {
  const work = soak === null ? null : new Soak(parts, soak);
  return {
    soakTurn: worker<undefined, Turn>(parts, {
      name: "cycling",
      limitMs: longestSoakTurnMs(soak) + stateDeadlineMs,
      run: (_, signal) => {
        if (work === null) throw new RunFault("plan-inconsistent", "This run is no soak.");
        return work.turn(signal);
      },
    }),
  };
}

class Soak {
  readonly #parts: RunParts;
  readonly #book: SoakBook;
  readonly #errors: SoakErrors;
  readonly #cycle: SoakCycle;
  readonly #wall: WallWatch;
  #begunMs: number | null = null;
  #accountedMs = 0;
  #nextCycleMs = 0;
  #readMs = 0;
  #dwelledMs = 0;
  #dwellUntilMs: number | null = null;
  #repeats = 0;

  constructor(parts: RunParts, book: SoakBook) {
    this.#parts = parts;
    this.#book = book;
    this.#errors = new SoakErrors(parts, book);
    this.#cycle = new SoakCycle(parts, book);
    this.#wall = new WallWatch(parts.clock);
  }

  async turn(signal: AbortSignal): Promise<Turn> {
    const { clock } = this.#parts;
    const untilMs = clock.nowMs() + soakTurnMs;
    try {
      if (this.#begunMs === null) await this.#begin(signal);
      while (clock.nowMs() < untilMs) {
        const over = await this.#next(untilMs, signal);
        if (over !== null) return await this.#over(over, signal);
      }
      return GOES_ON;
    } finally {
      this.#account();
      if (this.#book.isUntold) this.#tally();
    }
  }

  async #begin(signal: AbortSignal): Promise<void> {
    const { clock, scribe } = this.#parts;
    this.#begunMs = clock.nowMs();
    this.#accountedMs = this.#begunMs;
    this.#dwelledMs = this.#begunMs;
    scribe.phase("soaking");
    await this.#leadIn(signal);
    await this.#set("begin", signal);
    this.#nextCycleMs = clock.nowMs();
  }

  /**
   * Warm-up leaves lines and latches anywhere. One traverse that nobody judges brings the board to where
   * a cycle begins.
   */
  async #leadIn(signal: AbortSignal): Promise<void> {
    const { bench, clock, plan } = this.#parts;
    await driveLines(releasedLevels(plan), this.#parts);
    for (const { set, settleMs } of this.#book.order.cycle) {
      await driveLines(set, this.#parts);
      await clock.delay(settleMs, signal);
    }
    this.#repeats = bench.repeats?.() ?? 0;
  }

  /** One piece of work. @returns why the leg is over, or null */
  async #next(untilMs: number, signal: AbortSignal): Promise<Ending | null> {
    const { clock } = this.#parts;
    if (this.#dwellUntilMs !== null) return this.#dwell(this.#dwellUntilMs, untilMs, signal);
    const over = this.#isOver();
    if (over !== null) return over;
    const { order } = this.#book;
    const nowMs = clock.nowMs();
    if (order.dwell !== null && nowMs - this.#dwelledMs >= order.dwell.everyMs) {
      this.#dwellUntilMs = nowMs + order.dwell.forMs;
      this.#parts.scribe.phase("dwelling");
      return null;
    }
    if (nowMs < this.#nextCycleMs) {
      await clock.delay(Math.min(this.#nextCycleMs, untilMs) - nowMs, signal);
      if (clock.nowMs() < this.#nextCycleMs) return null;
    }
    this.#nextCycleMs = Math.max(this.#nextCycleMs + order.everyMs, clock.nowMs());
    if (clock.nowMs() - this.#readMs >= order.readEveryMs) await this.#set("settled", signal);
    else await this.#cycleOnce();
    if (order.everyMs === 0) await clock.delay(leastRestMs, signal);
    return null;
  }

  #isOver(): Ending | null {
    const { order } = this.#book;
    if (this.#book.isSteady) {
      return ending("steady error", "the same cycles went wrong on end");
    }
    if (this.#book.isGroundless) {
      return ending("line off its level", "cycles on end gave no ground to judge the board");
    }
    if (order.errorsMax !== null && this.#book.counts.wrong >= order.errorsMax) {
      return ending(
        "first fail",
        `${this.#book.counts.wrong} wrong cycles, as many as were allowed`,
      );
    }
    this.#account();
    if (this.#book.isComplete) return ending("completed", "the soak was cycled to its end");
    const onMs = this.#parts.clock.nowMs() - (this.#begunMs ?? 0);
    return order.power !== null && onMs >= order.power.onMs
      ? ending("completed", "power cycle")
      : null;
  }

  /** The last set of a leg; a leg that ends on trouble takes none. */
  async #over(why: Ending, signal: AbortSignal): Promise<Turn> {
    if (why.cause === "completed") await this.#set("end", signal);
    this.#errors.close();
    return { kind: "over", ending: why };
  }

  async #dwell(endMs: number, untilMs: number, signal: AbortSignal): Promise<null> {
    const { clock, scribe } = this.#parts;
    const nowMs = clock.nowMs();
    if (nowMs < endMs) await clock.delay(Math.min(endMs, untilMs) - nowMs, signal);
    if (clock.nowMs() < endMs) return null;
    this.#dwellUntilMs = null;
    this.#dwelledMs = clock.nowMs();
    scribe.phase("soaking");
    await this.#set("first on", signal);
    this.#nextCycleMs = clock.nowMs();
    return null;
  }

  async #set(moment: SetMoment, signal: AbortSignal): Promise<void> {
    const { clock } = this.#parts;
    const result = await takeSet(moment, { parts: this.#parts, book: this.#book, signal });
    this.#readMs = clock.nowMs();
    this.#ended(result);
    this.#account();
    this.#tally();
  }

  async #cycleOnce(): Promise<void> {
    const { clock } = this.#parts;
    const repeatsBefore = this.#parts.bench.repeats?.() ?? 0;
    const volts: (readonly (number | null)[])[] = [];
    for (let at = 0; at < this.#cycle.length; at += 1) {
      const read = await this.#cycle.step(at);
      volts.push(read.volts);
      if (read.off === null) continue;
      const own = this.#cycleVolts(volts);
      const rails = await this.#looksAtRails();
      const isJudged = read.off.why === "wrong" && rails.areGood;
      const repeats = (this.#parts.bench.repeats?.() ?? 0) - repeatsBefore;
      const moved = Object.keys(read.step.set);
      const wrong = { own, step: at, off: read.off, rails: rails.readings, repeats, moved };
      const isKept = isJudged && this.#errors.keep(wrong);
      this.#ended(isJudged ? "wrong" : "not judged");
      this.#errors.pass(own);
      if (isKept) this.#tally();
      this.#nextCycleMs = Math.max(this.#nextCycleMs, clock.nowMs());
      return;
    }
    this.#ended("right");
    this.#errors.pass(this.#cycleVolts(volts));
  }

  #cycleVolts(volts: CycleVolts["volts"]): CycleVolts {
    const { clock, openedMs } = this.#parts;
    return { cycle: this.#book.cycle, ms: Math.round(clock.nowMs() - openedMs), volts };
  }

  /** A rail out of its window takes the ground from under what was read. */
  async #looksAtRails() {
    const { bench, clock, plan, rails } = this.#parts;
    const deadline = { clock, limitMs: heartbeatDeadlineMs, what: "a rail scan" };
    const looks = understandScan(await within(deadline, bench.scanRails()), this.#parts);
    const trouble = findRailTrouble(looks, ({ rail }) => rails.state(rail), plan);
    return { areGood: trouble === null, readings: looks.map(({ board }) => board) };
  }

  #ended(result: CycleResult): void {
    this.#book.ended(result);
  }

  #account(): void {
    const { bench, clock, rails } = this.#parts;
    if (this.#begunMs === null) return;
    const nowMs = clock.nowMs();
    const cyclingMs = nowMs - this.#accountedMs;
    const first = this.#accountedMs === this.#begunMs;
    const beforeMs = (rail: "plate" | "heater") =>
      first ? this.#accountedMs - (rails.onSinceMs(rail) ?? this.#accountedMs) : 0;
    if (cyclingMs <= 0) return;
    this.#accountedMs = nowMs;
    this.#book.passed({
      cyclingMs,
      boardMs: cyclingMs + beforeMs("plate"),
      heaterMs: cyclingMs + beforeMs("heater"),
    });
    const repeats = bench.repeats?.() ?? 0;
    this.#book.repeated(repeats - this.#repeats);
    this.#repeats = repeats;
  }

  #tally(): void {
    const { scribe } = this.#parts;
    const stepMs = this.#wall.stepMs();
    if (stepMs !== null) {
      scribe.write({ kind: "clock-step", wall: this.#parts.clock.wallTime(), stepMs });
    }
    scribe.write({ kind: "soak-tally", ...this.#book.tell() });
  }
}
