/** Where every wish arrives, from a key, a typed line or a signal, before, during and after the run. */
import type { RunWish, WishAnswer } from "../../events/run-wish.ts";

export interface StopWish {
  readonly by: "person" | "signal";
  readonly detail: string;
}

/** The part of a run that can be asked for something. */
export interface Askable {
  stop(by: "person" | "signal", detail: string): void;
  ask(wish: RunWish): WishAnswer;
}

export class RunDesk {
  readonly #before = new AbortController();
  #run: Askable | null = null;
  #stop: StopWish | null = null;

  /** Aborts when a stop is asked for before there is a run. */
  get signal(): AbortSignal {
    return this.#before.signal;
  }

  /** The first wish to stop, null while nobody asked. */
  get stopWish(): StopWish | null {
    return this.#stop;
  }

  /** Ask for a stop. Asking again changes nothing: the way to safe outputs is never skipped. */
  stop(wish: StopWish): void {
    if (this.#stop !== null) return;
    this.#stop = wish;
    if (this.#run === null) this.#before.abort();
    else this.#run.stop(wish.by, wish.detail);
  }

  /** Ask the run for something else. */
  ask(wish: RunWish): WishAnswer {
    return this.#run === null ? "No run has begun yet." : this.#run.ask(wish);
  }

  /** From here on wishes go to this run; a stop that came in between goes there at once. */
  serve(run: Askable): void {
    this.#run = run;
    if (this.#stop !== null) run.stop(this.#stop.by, this.#stop.detail);
  }
}
