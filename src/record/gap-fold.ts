/** Where a journal says nothing about a time in which rails were up, and whether it ends whole. */
import type { JournalEntry } from "../events/events.ts";
import type { FoldedRun } from "../journal/account.ts";
import { seconds } from "./record-words.ts";

/** Rails are looked at about once a second; this long without a line, something stood still. */
const GAP_MS = 5_000;

export class GapFold {
  readonly #gaps: string[] = [];
  readonly #up = new Set<string>();
  #lastMs = 0;

  take({ ms, event }: JournalEntry): void {
    if (this.#up.size > 0 && ms - this.#lastMs > GAP_MS) {
      this.#gaps.push(
        `nothing was sealed from ${seconds(this.#lastMs)} to ${seconds(ms)} although rails were up`,
      );
    }
    this.#lastMs = ms;
    if (event.kind === "rail-switched") {
      if (event.on) this.#up.add(event.rail);
      else this.#up.delete(event.rail);
    }
  }

  /** @param tornLine number of a torn last line that was dropped, from 1 */
  texts(tornLine: number | null, run: FoldedRun): string[] {
    const torn =
      tornLine === null ? [] : [`line ${tornLine} of the journal was torn and is not counted`];
    const cut =
      run.cause === null
        ? ["the journal was never closed: the run was cut off, its end is not known"]
        : [];
    return [...this.#gaps, ...torn, ...cut];
  }
}
