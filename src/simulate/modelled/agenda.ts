/**
 * Virtual time in microseconds, and what is to happen in it: in order of time, then of asking. What goes on
 * without end beside it, a beat, comes before anything asked for the same moment.
 */

export interface Appointment {
  cancel(): void;
}

/** Something that happens over and over, and may take many of its times in one stride. */
export interface Beat {
  /**
   * Take the next stride, to that moment at the latest.
   *
   * @param reach called with the moment of the stride's end before anything happens at it
   * @returns false when nothing of it is due by then
   */
  stride(limitUs: number, reach: (us: number) => void): boolean;
}

class Entry implements Appointment {
  readonly atUs: number;
  readonly act: () => void;
  isCancelled = false;

  constructor(atUs: number, act: () => void) {
    this.atUs = atUs;
    this.act = act;
  }

  cancel(): void {
    this.isCancelled = true;
  }
}

const NO_BEAT: Beat = { stride: () => false };

export class Agenda {
  #nowUs = 0;
  #beat: Beat = NO_BEAT;
  /** Latest first, so that taking the earliest is a pop. */
  #entries: Entry[] = [];
  readonly #reach = (us: number): void => {
    this.#nowUs = us;
  };

  get nowUs(): number {
    return this.#nowUs;
  }

  after(us: number, act: () => void): Appointment {
    const entry = new Entry(this.#nowUs + Math.max(0, us), act);
    const entries = this.#entries;
    let place = entries.length;
    while (place > 0 && (entries[place - 1]?.atUs ?? 0) <= entry.atUs) place -= 1;
    entries.splice(place, 0, entry);
    return entry;
  }

  /** From now on this goes on beside the rest. */
  begin(beat: Beat): void {
    this.#beat = beat;
  }

  /** Forget everything; time stays. */
  clear(): void {
    this.#entries = [];
    this.#beat = NO_BEAT;
  }

  /** Let things happen up to a time, or until `until` answers true after one of them. */
  runTo(us: number, until: () => boolean = () => false): void {
    do {
      const next = this.#entries.at(-1);
      const limitUs = next === undefined ? us : Math.min(us, next.atUs);
      if (this.#beat.stride(limitUs, this.#reach)) continue;
      if (next === undefined || next.atUs > us) {
        this.#nowUs = Math.max(this.#nowUs, us);
        return;
      }
      this.#entries.pop();
      if (next.isCancelled) continue;
      this.#nowUs = Math.max(this.#nowUs, next.atUs);
      next.act();
    } while (!until());
  }
}
