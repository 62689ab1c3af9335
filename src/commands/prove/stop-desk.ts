/** Where every wish to stop arrives, from a key or a signal, before, during and after the run. */

export interface StopWish {
  readonly by: "person" | "signal";
  readonly detail: string;
}

/** The part of a run that can be asked to stop. */
export interface Stoppable {
  stop(by: "person" | "signal", detail: string): void;
}

export class StopDesk {
  readonly #before = new AbortController();
  #run: Stoppable | null = null;
  #wish: StopWish | null = null;

  /** Aborts when a stop is asked for before there is a run. */
  get signal(): AbortSignal {
    return this.#before.signal;
  }

  /** The first wish, null while nobody asked. */
  get wish(): StopWish | null {
    return this.#wish;
  }

  /** Ask for a stop. Asking again changes nothing: the way to safe outputs is never skipped. */
  ask(wish: StopWish): void {
    if (this.#wish !== null) return;
    this.#wish = wish;
    if (this.#run === null) this.#before.abort();
    else this.#run.stop(wish.by, wish.detail);
  }

  /** From here on wishes go to the run; one that came in between goes there at once. */
  serve(run: Stoppable): void {
    this.#run = run;
    if (this.#wish !== null) run.stop(this.#wish.by, this.#wish.detail);
  }
}
