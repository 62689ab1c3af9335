/**
 * The work behind hand mode: lines move at a person's wish, everything is read on and on, nothing is
 * judged. Supervision, trips and the way to safe outputs are those of a proof.
 */
import type { ChannelReading } from "../events/events.ts";
import type { DrivenLevel, LevelClass } from "../events/levels.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import { readingText } from "../measure/reading-text.ts";
import { classOfReading } from "../verdict/level-class.ts";
import type { RunConduct } from "./conduct.ts";
import { ending } from "./ending.ts";
import { driveLines, pulseLine } from "./hands.ts";
import { releasedLevels } from "./line-book.ts";
import { isUnprovedLow, judgeLines } from "./line-check.ts";
import { readChannels } from "./look.ts";
import type { RunParts } from "./run-parts.ts";
import { handReadEveryMs, stateDeadlineMs, watchEveryMs } from "./timing.ts";
import { GOES_ON, type Turn } from "./turn.ts";
import { worker } from "./worker.ts";

export function byHandActors(parts: RunParts, conduct: RunConduct) {
  const hand = new ByHand(parts, conduct);
  return {
    handTurn: worker<undefined, Turn>(parts, {
      name: "hand mode",
      limitMs: handReadEveryMs + hand.pulseMs + stateDeadlineMs,
      run: (_, signal) => hand.turn(signal),
    }),
  };
}

class ByHand {
  /** How long a pulse lasts, ms: as long as the slowest step of the sequence lets the board settle. */
  readonly pulseMs: number;
  readonly #parts: RunParts;
  readonly #limitMs: number;
  readonly #channels: readonly string[];
  readonly #classes = new Map<string, LevelClass | null>();
  readonly #toldOff = new Set<string>();
  #begunMs: number | null = null;
  #readMs = Number.NEGATIVE_INFINITY;
  #writtenMs = Number.NEGATIVE_INFINITY;

  constructor(parts: RunParts, conduct: RunConduct) {
    const { plan } = parts;
    this.#parts = parts;
    this.#limitMs = conduct.handMs;
    this.pulseMs = Math.max(1, ...plan.steps.map(({ settleMs }) => settleMs));
    this.#channels = plan.channels
      .filter(({ reads }) => reads.kind === "net" || reads.kind === "line")
      .map(({ name }) => name);
  }

  async turn(signal: AbortSignal): Promise<Turn> {
    const { clock, desk } = this.#parts;
    const begunMs = this.#begunMs ?? (await this.#begin());
    const leftMs = begunMs + this.#limitMs - clock.nowMs();
    if (leftMs <= 0) return this.#over("the time in hand mode is over");
    const dueMs = Math.max(0, this.#readMs + handReadEveryMs - clock.nowMs());
    const wish = await desk.next(clock, Math.min(dueMs, leftMs), signal);
    if (wish?.kind === "let go") return this.#over("let go by the person");
    if (wish !== null) await this.#carryOut(wish, signal);
    if (clock.nowMs() - this.#readMs >= handReadEveryMs) await this.#read(signal);
    return GOES_ON;
  }

  /** Warm-up leaves some contact closed; the person begins with none. */
  async #begin(): Promise<number> {
    const { clock, desk, plan, scribe } = this.#parts;
    const begunMs = clock.nowMs();
    this.#begunMs = begunMs;
    scribe.phase("by hand");
    scribe.write({ kind: "hand-begun", limitMs: this.#limitMs });
    desk.open((wish) => this.#accept(wish));
    await driveLines(releasedLevels(plan), this.#parts);
    return begunMs;
  }

  #over(detail: string): Turn {
    this.#parts.desk.close();
    return { kind: "over", ending: ending("completed", detail) };
  }

  #accept(wish: RunWish): WishAnswer {
    if (wish.kind === "let go") return null;
    if (wish.kind !== "drive" && wish.kind !== "pulse") {
      return "The lines are yours: only driving, pulsing and letting go work here.";
    }
    const { lines } = this.#parts.plan;
    if (lines.some(({ line }) => line === wish.line)) return null;
    return `There is no line "${wish.line}"; the lines are ${lines.map(({ line }) => line).join(", ")}.`;
  }

  async #carryOut(wish: RunWish, signal: AbortSignal): Promise<void> {
    if (wish.kind === "drive") await this.#drive(wish.line, wish.level);
    if (wish.kind === "pulse") {
      await pulseLine(wish.line, this.pulseMs, this.#parts);
      signal.throwIfAborted();
      this.#toldOff.delete(wish.line);
    }
  }

  async #drive(line: string, level: DrivenLevel): Promise<void> {
    await driveLines({ [line]: level }, this.#parts);
    this.#toldOff.delete(line);
  }

  /** Written when a class is another than before, else once in a while: the board is in view anyway. */
  async #read(signal: AbortSignal): Promise<void> {
    const { clock, latch, scribe } = this.#parts;
    this.#readMs = clock.nowMs();
    const readings = await readChannels(this.#channels, this.#parts);
    signal.throwIfAborted();
    latch.assertOpen("reading by hand");
    const hasChanged = readings.map((one) => this.#note(one)).some((changed) => changed);
    if (hasChanged || clock.nowMs() - this.#writtenMs >= watchEveryMs) {
      this.#writtenMs = clock.nowMs();
      scribe.write({ kind: "hand-reading", readings });
    }
    this.#tellLinesOff(readings);
  }

  /** @returns whether the class of this channel is another than at the last look */
  #note(reading: ChannelReading): boolean {
    const { channel } = reading;
    const found = classOfReading(reading, this.#parts.plan.contract);
    const isNews = this.#classes.get(channel) !== found;
    this.#classes.set(channel, found);
    return isNews;
  }

  /** A line that does not reach its level ends a proof; here a person is looking, and is told once. */
  #tellLinesOff(readings: readonly ChannelReading[]): void {
    const { clock, lines, plan, scribe } = this.#parts;
    for (const { line, channel, level, sinceMs } of lines.readBack()) {
      if (this.#toldOff.has(line) || clock.nowMs() - sinceMs < this.pulseMs) continue;
      const [judged] = judgeLines(readings, [{ line, channel, level, sinceMs }], plan.contract);
      if (judged === undefined || judged.result === "pass" || isUnprovedLow(judged)) continue;
      this.#toldOff.add(line);
      const found = judged.class === null ? "" : `, ${judged.class}`;
      scribe.write({
        kind: "remark",
        text: `line ${line} is driven ${level} and reads ${readingText(judged, plan)}${found}: check its relay, its source and its lead`,
      });
    }
  }
}
