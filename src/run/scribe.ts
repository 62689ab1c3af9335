/**
 * The one pen of a run. Writing never throws, so that the way to safe outputs can use it; the
 * first fault is reported at once and ends the run.
 */
import type { Phase, RunEvent } from "../events/events.ts";

/** What the run needs of a journal. */
export interface EventJournal {
  append(event: RunEvent): void;
  /** @throws JournalFault when what was appended could not be put on the medium */
  seal(): void;
  /** The same while the run goes on, where it can. @throws JournalFault */
  sealBeside?(onFault: (fault: unknown) => void): void;
}

/** Events that wait for the next one to be sealed with it: they mean little alone. */
const gathered: ReadonlySet<RunEvent["kind"]> = new Set([
  "lines",
  "step-begun",
  "reading",
  "budget",
  "soak-readings",
  "cycle-error",
]);
/** Of a soak besides: its tallies seal often enough, and a night has many looks. */
const gatheredInSoak: ReadonlySet<RunEvent["kind"]> = new Set(["watch"]);

/** They come in their numbers while rails are on and somebody waits to be fed, and nothing is done because of them. */
const inPassing: ReadonlySet<RunEvent["kind"]> = new Set([
  "watch",
  "soak-tally",
  "hold-progress",
  "clock-step",
  "remark",
]);

export class Scribe {
  readonly #journal: EventJournal;
  readonly #onFault: (fault: unknown) => void;
  readonly #listeners = new Set<(event: RunEvent) => void>();
  #phase: Phase | null = null;
  #fault: unknown = null;

  constructor(journal: EventJournal, onFault: (fault: unknown) => void) {
    this.#journal = journal;
    this.#onFault = onFault;
  }

  /** The first fault of the journal, null while it is sound. */
  get fault(): unknown {
    return this.#fault;
  }

  write(event: RunEvent): void {
    this.#try(() => {
      this.#journal.append(event);
      if (!this.#isGathered(event.kind)) this.#seal(event.kind);
    });
    for (const listener of [...this.#listeners]) this.#tell(listener, event);
  }

  /** Write the phase unless it is the one the run is in. */
  phase(phase: Phase): void {
    if (this.#phase === phase) return;
    this.#phase = phase;
    this.write({ kind: "phase", phase });
  }

  seal(): void {
    this.#try(() => this.#journal.seal());
  }

  /** Be told of every event as it is written. Returns the way to unsubscribe. */
  subscribe(listener: (event: RunEvent) => void): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  #isGathered(kind: RunEvent["kind"]): boolean {
    return gathered.has(kind) || (this.#phase === "soaking" && gatheredInSoak.has(kind));
  }

  #seal(kind: RunEvent["kind"]): void {
    const journal = this.#journal;
    if (inPassing.has(kind) && journal.sealBeside !== undefined) {
      journal.sealBeside((fault) => this.#failed(fault));
    } else journal.seal();
  }

  #try(write: () => void): void {
    try {
      write();
    } catch (fault) {
      this.#failed(fault);
    }
  }

  #failed(fault: unknown): void {
    if (this.#fault !== null) return;
    this.#fault = fault ?? new Error("The journal failed without a reason.");
    this.#onFault(this.#fault);
  }

  /** A listener that throws is dropped and named: a screen may not hold up a run. */
  #tell(listener: (event: RunEvent) => void, event: RunEvent): void {
    try {
      listener(event);
    } catch (error) {
      this.#listeners.delete(listener);
      const reason = error instanceof Error ? error.message : String(error);
      this.write({
        kind: "remark",
        text: `A listener of the run failed and was dropped: ${reason}`,
      });
    }
  }
}
