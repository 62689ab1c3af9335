/** Where a journal says nothing about a time in which rails were up, and whether it ends whole. */
import type { JournalEntry } from "../events/events.ts";
import type { SoakEvent } from "../events/soak.ts";
import type { FoldedRun } from "../journal/account.ts";
import { seconds } from "./record-words.ts";
import { SilenceWatch } from "./silence.ts";

/** More of them are counted: a page of gaps says no more than their number. */
const GAPS_TOLD_MAX = 100;

type LegBegun = Extract<SoakEvent, { kind: "leg-begun" }>;

export class GapFold {
  readonly #gaps: string[] = [];
  readonly #silence = new SilenceWatch();
  #beyond = 0;

  take(entry: JournalEntry): void {
    const silence = this.#silence.take(entry);
    if (silence !== null) {
      const { fromMs, toMs } = silence;
      this.#tell(
        `nothing was sealed from ${seconds(fromMs)} to ${seconds(toMs)} although rails were up`,
      );
    }
    if (entry.event.kind === "leg-begun") this.#takeLeg(entry.ms, entry.event);
  }

  /** A power cycle was planned and is no gap; whatever else came between two legs is. */
  #takeLeg(ms: number, { leg, why, gapMs, tornBytes }: LegBegun): void {
    if (why === "first" || why === "power cycle") return;
    const gap = gapMs === null ? "after a time that no clock tells" : `${seconds(gapMs)} later`;
    const torn = tornBytes === 0 ? "" : `; ${tornBytes} bytes that were never sealed were dropped`;
    this.#tell(`leg ${leg} began at ${seconds(ms)}, ${gap}, after a ${why}${torn}`);
  }

  #tell(gap: string): void {
    if (this.#gaps.length < GAPS_TOLD_MAX) this.#gaps.push(gap);
    else this.#beyond += 1;
  }

  /** @param tornLine number of a torn last line that was dropped, from 1 */
  texts(tornLine: number | null, run: FoldedRun): string[] {
    const torn =
      tornLine === null ? [] : [`line ${tornLine} of the journal was torn and is not counted`];
    const cut =
      run.cause === null
        ? ["the journal was never closed: the run was cut off, its end is not known"]
        : [];
    const more = this.#beyond === 0 ? [] : [`and ${this.#beyond} more such gaps`];
    return [...this.#gaps, ...more, ...torn, ...cut];
  }
}
