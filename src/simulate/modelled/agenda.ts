/** Virtual time in microseconds, and what is to happen in it: in order of time, then of asking. */

export interface Appointment {
  cancel(): void;
}

interface Entry {
  readonly atUs: number;
  readonly order: number;
  readonly act: () => void;
  cancelled: boolean;
}

export class Agenda {
  #nowUs = 0;
  #asked = 0;
  #entries: Entry[] = [];

  get nowUs(): number {
    return this.#nowUs;
  }

  after(us: number, act: () => void): Appointment {
    const entry = {
      atUs: this.#nowUs + Math.max(0, us),
      order: this.#asked,
      act,
      cancelled: false,
    };
    this.#asked += 1;
    const behind = this.#entries.findIndex(({ atUs }) => atUs > entry.atUs);
    this.#entries.splice(behind < 0 ? this.#entries.length : behind, 0, entry);
    return {
      cancel: () => {
        entry.cancelled = true;
      },
    };
  }

  /** Forget everything; time stays. */
  clear(): void {
    this.#entries = [];
  }

  /** Let things happen up to a time, or until `until` answers true after one of them. */
  runTo(us: number, until: () => boolean = () => false): void {
    for (;;) {
      const [next] = this.#entries;
      if (next === undefined || next.atUs > us) break;
      this.#entries.shift();
      if (next.cancelled) continue;
      this.#nowUs = Math.max(this.#nowUs, next.atUs);
      next.act();
      if (until()) return;
    }
    this.#nowUs = Math.max(this.#nowUs, us);
  }
}
