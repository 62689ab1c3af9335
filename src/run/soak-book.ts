/**
 * What a soak counts over all its legs. Cycles are gathered here and count once the tally that tells of
 * them is sealed; whoever goes on after a crash begins from the last sealed one.
 */
import type { LevelClass, RailName } from "../events/levels.ts";
import {
  KEPT_PER_HOUR,
  type SoakCounts,
  type SoakLinkUse,
  type SoakOrder,
  type SoakSpan,
  STEADY_CYCLES,
} from "../events/soak.ts";
import { isSoakComplete } from "../journal/soak-snapshot.ts";
import { soakTurnMs, stateDeadlineMs } from "./timing.ts";

const HOUR_MS = 3_600_000;

/** What a sealed journal has told so far. */
export interface SoakSoFar {
  readonly counts: SoakCounts;
  /** Errors kept whole, full sets, and legs, each numbered from 1. */
  readonly errors: number;
  readonly sets: number;
  readonly legs: number;
  /** A set with the heaters low stands in it. */
  readonly hasHeaterLow: boolean;
}

/** How a cycle came out. */
export type CycleResult = "right" | "wrong" | "not judged";

interface Span {
  low: number;
  high: number;
  sum: number;
  count: number;
}

export class SoakBook {
  readonly order: SoakOrder;
  readonly #counts: { -readonly [Key in keyof SoakCounts]: SoakCounts[Key] };
  readonly #spans = new Map<string, Map<LevelClass, Span>>();
  /** Moments at which errors of a kind were kept whole, within the last hour. */
  readonly #kept = new Map<string, number[]>();
  #errors: number;
  #sets: number;
  #legs: number;
  #wrongOnEnd = 0;
  #unjudgedOnEnd = 0;
  #untold = false;
  #lowAtBegin: boolean;
  #lowAtEnd = false;

  constructor(order: SoakOrder, before: SoakSoFar) {
    this.order = order;
    this.#counts = { ...before.counts };
    this.#errors = before.errors;
    this.#sets = before.sets;
    this.#legs = before.legs;
    this.#lowAtBegin = before.hasHeaterLow;
  }

  /**
   * Once a run, before its first cycles and after its last: whether readings with the heaters low are due. Those that
   * a crash kept a leg from taking are due in the next.
   */
  takesHeaterLow(moment: "begin" | "end"): boolean {
    if (this.order.heaterLow === undefined) return false;
    const isDue =
      moment === "begin" ? !this.#lowAtBegin : !this.#lowAtEnd && (this.isComplete || this.isLast);
    if (moment === "begin") this.#lowAtBegin = true;
    else if (isDue) this.#lowAtEnd = true;
    return isDue;
  }

  get counts(): SoakCounts {
    return { ...this.#counts };
  }

  /** Something was counted since the last tally. */
  get isUntold(): boolean {
    return this.#untold;
  }

  get errors(): number {
    return this.#errors;
  }

  get isComplete(): boolean {
    return isSoakComplete({ order: this.order, counts: this.#counts });
  }

  /** One more cycle makes the count that was ordered. */
  get isLast(): boolean {
    const { cycles } = this.order;
    return cycles !== null && this.#counts.cycles + 1 >= cycles;
  }

  /** So many cycles on end were wrong that more of them would tell nothing new. */
  get isSteady(): boolean {
    return this.#wrongOnEnd >= STEADY_CYCLES;
  }

  /** So many cycles on end gave no ground to judge. */
  get isGroundless(): boolean {
    return this.#unjudgedOnEnd >= STEADY_CYCLES;
  }

  /** Number of the cycle under way, from 1. */
  get cycle(): number {
    return this.#counts.cycles + this.#counts.unjudged + 1;
  }

  /** @returns its number */
  beginLeg(): number {
    this.#legs += 1;
    return this.#legs;
  }

  railCameOn(rail: RailName): void {
    if (rail === "plate") this.#counts.powerCycles += 1;
    this.closed({ [rail]: 1 });
  }

  nextSet(): number {
    this.#sets += 1;
    return this.#sets;
  }

  /** So many more closings of each relay, by line or rail. */
  closed(times: Readonly<Record<string, number>>): void {
    const closings = { ...this.#counts.closings };
    for (const [output, more] of Object.entries(times)) {
      closings[output] = (closings[output] ?? 0) + more;
    }
    this.#counts.closings = closings;
  }

  ended(result: CycleResult): void {
    this.#untold = true;
    if (result === "not judged") {
      this.#counts.unjudged += 1;
      this.#unjudgedOnEnd += 1;
      return;
    }
    this.#unjudgedOnEnd = 0;
    this.#counts.cycles += 1;
    if (result === "wrong") this.#counts.wrong += 1;
    this.#wrongOnEnd = result === "wrong" ? this.#wrongOnEnd + 1 : 0;
  }

  /**
   * Whether one more wrong cycle of this kind is kept whole.
   *
   * @param kind step and net
   * @returns its number, or null when it is only counted
   */
  keep(kind: string, nowMs: number): number | null {
    const recent = (this.#kept.get(kind) ?? []).filter((ms) => nowMs - ms < HOUR_MS);
    this.#kept.set(kind, recent);
    if (recent.length >= KEPT_PER_HOUR) {
      this.#counts.notKept += 1;
      return null;
    }
    recent.push(nowMs);
    this.#errors += 1;
    return this.#errors;
  }

  saw(net: string, found: LevelClass, volts: number): void {
    let classes = this.#spans.get(net);
    if (classes === undefined) {
      classes = new Map();
      this.#spans.set(net, classes);
    }
    const span = classes.get(found);
    if (span === undefined) {
      classes.set(found, { low: volts, high: volts, sum: volts, count: 1 });
      return;
    }
    if (volts < span.low) span.low = volts;
    if (volts > span.high) span.high = volts;
    span.sum += volts;
    span.count += 1;
  }

  /** Time that went by since the last time it was told, ms, on power and while cycling. */
  passed(times: {
    readonly boardMs: number;
    readonly heaterMs: number;
    readonly cyclingMs: number;
  }): void {
    this.#counts.boardMs += times.boardMs;
    this.#counts.heaterMs += times.heaterMs;
    this.#counts.cyclingMs += times.cyclingMs;
  }

  repeated(times: number): void {
    this.#counts.repeats += times;
  }

  usedLink(more: SoakLinkUse): void {
    const { link } = this.#counts;
    this.#counts.link = {
      bytes: (link?.bytes ?? 0) + more.bytes,
      movingBytes: (link?.movingBytes ?? 0) + more.movingBytes,
      movingMs: (link?.movingMs ?? 0) + more.movingMs,
      movingRepeats: (link?.movingRepeats ?? 0) + more.movingRepeats,
    };
  }

  /** What a tally tells; the spans begin anew after it. */
  tell(): { readonly counts: SoakCounts; readonly spans: readonly SoakSpan[] } {
    const spans = [...this.#spans].flatMap(([net, classes]) =>
      [...classes].map(
        ([found, { low, high, sum, count }]): SoakSpan => ({
          net,
          class: found,
          lowV: low,
          highV: high,
          meanV: sum / count,
          count,
        }),
      ),
    );
    this.#spans.clear();
    this.#untold = false;
    return { counts: roundedTimes(this.#counts), spans };
  }
}

/** A turn ends with the piece of work it is in: a cycle, or a full set of readings. */
export function longestSoakTurnMs(book: SoakBook | null): number {
  const settlesMs = (book?.order.cycle ?? []).map(({ settleMs }) => settleMs + stateDeadlineMs);
  return settlesMs.reduce((sum, ms) => sum + ms, soakTurnMs + (book?.order.everyMs ?? 0));
}

function roundedTimes(counts: SoakCounts): SoakCounts {
  const { boardMs, heaterMs, cyclingMs, link } = counts;
  return {
    ...counts,
    ...(link === undefined ? {} : { link: { ...link, movingMs: Math.round(link.movingMs) } }),
    boardMs: Math.round(boardMs),
    heaterMs: Math.round(heaterMs),
    cyclingMs: Math.round(cyclingMs),
  };
}
