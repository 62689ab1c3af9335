/**
 * Wrong cycles kept whole: what was read, the cycles around it, the rails and what else happened just then.
 */
import type { ChannelReading } from "../events/events.ts";
import { type CycleVolts, NEIGHBOUR_CYCLES } from "../events/soak.ts";
import type { RunParts } from "./run-parts.ts";
import type { SoakBook } from "./soak-book.ts";
import type { CycleStepRead } from "./soak-cycle.ts";

interface WaitingError {
  readonly error: number;
  readonly after: CycleVolts[];
}

/** A cycle that was wrong, at the step where that showed first. */
export interface WrongCycle {
  readonly own: CycleVolts;
  readonly step: number;
  readonly off: NonNullable<CycleStepRead["off"]>;
  /** Board sides of the rails, read right after. */
  readonly rails: readonly ChannelReading[];
  readonly repeats: number;
  /** Lines that moved for that step. */
  readonly moved: readonly string[];
}

export class SoakErrors {
  readonly #parts: RunParts;
  readonly #book: SoakBook;
  readonly #before: CycleVolts[] = [];
  #waiting: WaitingError[] = [];

  constructor(parts: RunParts, book: SoakBook) {
    this.#parts = parts;
    this.#book = book;
  }

  /** Every cycle in turn that is not kept whole. */
  pass(cycle: CycleVolts): void {
    this.#before.push(cycle);
    if (this.#before.length > NEIGHBOUR_CYCLES) this.#before.shift();
    if (this.#waiting.length === 0) return;
    for (const one of this.#waiting) if (one.after.length < NEIGHBOUR_CYCLES) one.after.push(cycle);
    const isFull = ({ after }: WaitingError) => after.length >= NEIGHBOUR_CYCLES;
    for (const one of this.#waiting.filter(isFull)) this.#tellAfter(one);
    this.#waiting = this.#waiting.filter((one) => !isFull(one));
  }

  /** A wrong cycle instead. @returns whether it was kept whole; what is not has still to be passed */
  keep({ own, step, off, rails, repeats, moved }: WrongCycle): boolean {
    const { clock, rails: books, rig, scribe } = this.#parts;
    const nowMs = clock.nowMs();
    const net = off.readings[0]?.channel ?? "";
    const error = this.#book.keep(`${step} ${net}`, nowMs);
    if (error === null) return false;
    const plateOnMs = books.onSinceMs("plate") ?? nowMs;
    scribe.write({
      kind: "cycle-error",
      error,
      cycle: own.cycle,
      step,
      onMs: Math.round(nowMs - plateOnMs),
      wall: clock.wallTime(),
      readings: off.readings,
      own,
      before: [...this.#before],
      rails,
      ...rig.measured,
      repeats,
      moved,
    });
    this.pass(own);
    this.#waiting.push({ error, after: [] });
    return true;
  }

  /** The leg ends: what follows is no neighbour any more. */
  close(): void {
    for (const one of this.#waiting) this.#tellAfter(one);
    this.#waiting = [];
  }

  #tellAfter({ error, after }: WaitingError): void {
    this.#parts.scribe.write({ kind: "cycle-error-after", error, after });
  }
}
