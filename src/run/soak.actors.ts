/**
 * The work behind a soak: cycle after cycle at its pace, a full set of readings now and then, standing
 * still where the sequence asks for it, and a tally at the end of every turn. A turn is short, so that a
 * hang is seen and what was counted is soon sealed.
 */

import type { LinkUse } from "../bench/bench.ts";
import type { SettableSupply } from "../bench/settable-supply.ts";
import type { PatternStep } from "../events/plan.ts";
import type { CycleVolts, SetMoment } from "../events/soak.ts";
import type { RunConduct } from "./conduct.ts";
import { within } from "./deadline.ts";
import { type Ending, ending, RunFault } from "./ending.ts";
import { driveLines } from "./hands.ts";
import { HeaterLow, notMade } from "./heater-low.ts";
import { releasedLevels } from "./line-book.ts";
import { understandScan } from "./look.ts";
import { findRailTrouble } from "./rail-checks.ts";
import type { RunParts } from "./run-parts.ts";
import { longestSoakTurnMs, type SoakBook } from "./soak-book.ts";
import { type CycleStepRead, SoakCycle } from "./soak-cycle.ts";
import { SoakErrors } from "./soak-errors.ts";
import { takeSet } from "./soak-set.ts";
import { heartbeatDeadlineMs, leastRestMs, soakTurnMs, stateDeadlineMs } from "./timing.ts";
import { GOES_ON, type Turn } from "./turn.ts";
import { WallWatch } from "./wall-watch.ts";
import { worker } from "./worker.ts";

export function soakActors(parts: RunParts, { soak, supplies = [], wall }: RunConduct) {
  const heater = supplies.find(({ rail }) => rail === "heater") ?? null;
  const work =
    soak === null
      ? null
      : new Soak(parts, soak, { wall: wall ?? new WallWatch(parts.clock), heater });
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

/** The first step of a cycle that is off. */
interface SeenOff {
  readonly step: PatternStep;
  readonly off: NonNullable<CycleStepRead["off"]>;
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
  #linkUse: LinkUse | null = null;
  readonly #heater: SettableSupply | null;
  #heaterLow: HeaterLow | null = null;

  constructor(
    parts: RunParts,
    book: SoakBook,
    { wall, heater }: { wall: WallWatch; heater: SettableSupply | null },
  ) {
    this.#parts = parts;
    this.#book = book;
    this.#heater = heater;
    this.#errors = new SoakErrors(parts, book);
    this.#cycle = new SoakCycle(parts, book);
    this.#wall = wall;
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
      else this.#wall.tell(this.#parts.scribe);
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
    if (this.#book.takesHeaterLow("begin")) this.#lowerHeater();
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
    this.#accountLink();
  }

  /** One piece of work. @returns why the leg is over, or null */
  async #next(untilMs: number, signal: AbortSignal): Promise<Ending | null> {
    const { clock } = this.#parts;
    if (this.#dwellUntilMs !== null) return this.#dwell(this.#dwellUntilMs, untilMs, signal);
    if (this.#heaterLow !== null) return this.#standLow(this.#heaterLow, untilMs, signal);
    const over = this.#isOver();
    if (over?.cause === "completed" && this.#book.takesHeaterLow("end")) {
      this.#lowerHeater();
      return null;
    }
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
    if (this.#book.isComplete || this.#book.isLast)
      return ending("completed", "the soak was cycled to its end");
    const onMs = this.#parts.clock.nowMs() - (this.#begunMs ?? 0);
    return order.power !== null && onMs >= order.power.onMs
      ? ending("completed", "power cycle")
      : null;
  }

  /** The last set of a leg, which is its last cycle; a leg that ends on trouble takes none. */
  async #over(why: Ending, signal: AbortSignal): Promise<Turn> {
    const { order } = this.#book;
    const isDue = order.cycles === null || !this.#book.isComplete;
    if (why.cause === "completed" && isDue) await this.#set("end", signal);
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

  #lowerHeater(): void {
    const { heaterLow: order } = this.#book.order;
    if (order === undefined) return;
    const parts = this.#parts;
    const supply = this.#heater;
    if (supply === null) {
      notMade(order, "no supply here can be told its volts", parts.scribe);
      return;
    }
    this.#account();
    parts.scribe.phase("heaters low");
    this.#heaterLow = new HeaterLow({
      order,
      parts,
      supply,
      // Not a cycle: levels of a condition that the board is not made for.
      takeSet: async (signal) => {
        await takeSet("heater low", { parts, book: this.#book, signal });
      },
    });
  }

  async #standLow(low: HeaterLow, untilMs: number, signal: AbortSignal): Promise<null> {
    if (!(await low.turn(untilMs, signal))) return null;
    this.#account();
    this.#heaterLow = null;
    this.#parts.scribe.phase("soaking");
    // What it is held against, read as soon as it is warm again; at the end the last set is.
    if (!this.#book.isComplete && !this.#book.isLast) await this.#set("settled", signal);
    this.#nextCycleMs = this.#parts.clock.nowMs();
    return null;
  }

  async #set(moment: SetMoment, signal: AbortSignal): Promise<void> {
    const { clock } = this.#parts;
    const repeatsBefore = this.#repeatsNow();
    const { result, off, volts } = await takeSet(moment, {
      parts: this.#parts,
      book: this.#book,
      signal,
    });
    this.#readMs = clock.nowMs();
    const why = result === "wrong" ? "wrong" : "not judged";
    const seen =
      off === null ? null : { step: off.step, off: { why, readings: off.readings } as const };
    await this.#ended(volts, seen, repeatsBefore);
    this.#account();
    this.#tally();
  }

  /** What comes after a step that is off rests on it: driven and read, but not judged any more. */
  async #cycleOnce(): Promise<void> {
    const repeatsBefore = this.#repeatsNow();
    const volts: (readonly (number | null)[])[] = [];
    let seen: SeenOff | null = null;
    for (let at = 0; at < this.#cycle.length; at += 1) {
      const read = await this.#cycle.step(at);
      volts.push(read.volts);
      if (read.off !== null) seen ??= { step: read.step, off: read.off };
    }
    await this.#ended(volts, seen, repeatsBefore);
  }

  /** Count a cycle; keep it whole where it was wrong, unless the rails took the ground from under it. */
  async #ended(
    volts: CycleVolts["volts"],
    seen: SeenOff | null,
    repeatsBefore: number,
  ): Promise<void> {
    const own = this.#cycleVolts(volts);
    if (seen === null) {
      this.#book.ended("right");
      this.#errors.pass(own);
      return;
    }
    const { step, off } = seen;
    const rails = await this.#looksAtRails();
    const isJudged = off.why === "wrong" && rails.areGood;
    const repeats = this.#repeatsNow() - repeatsBefore;
    const moved = Object.keys(step.set);
    const wrong = { own, step: step.index, off, rails: rails.readings, repeats, moved };
    const isKept = isJudged && this.#errors.keep(wrong);
    this.#book.ended(isJudged ? "wrong" : "not judged");
    if (isKept) this.#tally();
    else this.#errors.pass(own);
  }

  #repeatsNow(): number {
    return this.#parts.bench.repeats?.() ?? 0;
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
    const trouble = findRailTrouble(looks, rails, plan);
    return { areGood: trouble === null, readings: looks.map(({ board }) => board) };
  }

  #account(): void {
    const { bench, clock, lines, rails } = this.#parts;
    if (this.#begunMs === null) return;
    this.#book.closed(lines.takeClosings());
    const nowMs = clock.nowMs();
    const cyclingMs = nowMs - this.#accountedMs;
    const first = this.#accountedMs === this.#begunMs;
    const beforeMs = (rail: "plate" | "heater") =>
      first ? this.#accountedMs - (rails.onSinceMs(rail) ?? this.#accountedMs) : 0;
    if (cyclingMs <= 0) return;
    this.#accountedMs = nowMs;
    this.#book.passed({
      cyclingMs: this.#heaterLow === null ? cyclingMs : 0,
      boardMs: cyclingMs + beforeMs("plate"),
      heaterMs: cyclingMs + beforeMs("heater"),
    });
    const repeats = bench.repeats?.() ?? 0;
    this.#book.repeated(repeats - this.#repeats);
    this.#repeats = repeats;
    this.#accountLink();
  }

  #accountLink(): void {
    const use = this.#parts.bench.linkUse?.();
    if (use === undefined) return;
    const last = this.#linkUse ?? use;
    this.#linkUse = { ...use };
    this.#book.usedLink({
      bytes: use.bytes - last.bytes,
      movingBytes: use.movingBytes - last.movingBytes,
      movingMs: use.movingMs - last.movingMs,
      movingRepeats: use.movingRepeats - last.movingRepeats,
    });
  }

  #tally(): void {
    const { scribe } = this.#parts;
    this.#wall.tell(scribe);
    scribe.write({ kind: "soak-tally", ...this.#book.tell() });
  }
}
