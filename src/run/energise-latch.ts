/**
 * One latch between the run and anything that could raise a rail, operate a line or judge a reading.
 * The first reason to end closes it, in the same turn of the event loop, and nothing opens it again in
 * this run: not even a machine that goes on because the one above it broke.
 */
import { RunFault } from "./ending.ts";

export class EnergiseLatch {
  #reason: string | null = null;

  get closedBecause(): string | null {
    return this.#reason;
  }

  close(reason: string): void {
    this.#reason ??= reason;
  }

  /** @throws RunFault "energising-closed" once the run has begun to end */
  assertOpen(what: string): void {
    if (this.#reason === null) return;
    throw new RunFault(
      "energising-closed",
      `Expected a running run before ${what}, but it is ending (${this.#reason}). Nothing more was done.`,
    );
  }
}
