/** A journal in memory with the same promise as the real one: sealed entries reach subscribers. */
import type { Clock } from "../../src/clock/clock.ts";
import type { JournalEntry, RunEvent } from "../../src/events/events.ts";
import { JournalFault } from "../../src/journal/journal-fault.ts";
import type { RunJournal } from "../../src/run/start-run.ts";

export class MemoryJournal implements RunJournal {
  readonly entries: JournalEntry[] = [];
  /** From this reading of the clock on the disk is full; null never. */
  fullFromMs: number | null = null;
  readonly #clock: Clock;
  readonly #listeners = new Set<(entry: JournalEntry) => void>();
  #gathered: JournalEntry[] = [];

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  get events(): RunEvent[] {
    return this.entries.map(({ event }) => event);
  }

  append(event: RunEvent): void {
    const n = this.entries.length + this.#gathered.length;
    // As read back from a file: nobody shares an object with the run.
    const copy = JSON.parse(JSON.stringify(event)) as RunEvent;
    this.#gathered.push({ n, ms: Math.round(this.#clock.nowMs()), before: "", event: copy });
  }

  seal(): void {
    if (this.fullFromMs !== null && this.#clock.nowMs() >= this.fullFromMs) {
      throw new JournalFault("JOURNAL_DISK_FULL", "Expected room on the disk, there is none.", {
        path: "memory",
        sealedLines: this.entries.length,
      });
    }
    const batch = this.#gathered;
    this.#gathered = [];
    this.entries.push(...batch);
    for (const entry of batch) for (const listener of this.#listeners) listener(entry);
  }

  subscribe(listener: (entry: JournalEntry) => void): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }
}
