/** Times in which a journal says nothing although rails were up. */
import type { JournalEntry, Phase } from "../events/events.ts";
import type { RailName } from "../events/levels.ts";

/** Rails are looked at about once a second; this long without a line, something stood still. */
const SILENT_MS = 5_000;
/** Of a soak a look a minute is kept, so that a night stays small. */
const SOAK_SILENT_MS = 75_000;
const OF_A_SOAK: ReadonlySet<Phase> = new Set(["soaking", "dwelling", "heaters low"]);

export interface Silence {
  readonly fromMs: number;
  readonly toMs: number;
}

export class SilenceWatch {
  readonly #up = new Set<RailName>();
  #limitMs = SILENT_MS;
  #lastMs = 0;

  /** @returns the silence that this entry ends, null where there was none */
  take({ ms, event }: JournalEntry): Silence | null {
    const fromMs = this.#lastMs;
    const isSilence = this.#up.size > 0 && ms - fromMs > this.#limitMs;
    this.#lastMs = ms;
    if (event.kind === "phase") {
      this.#limitMs = OF_A_SOAK.has(event.phase) ? SOAK_SILENT_MS : SILENT_MS;
    } else if (event.kind === "rail-switched") {
      if (event.on) this.#up.add(event.rail);
      else this.#up.delete(event.rail);
    }
    return isSilence ? { fromMs, toMs: ms } : null;
  }
}
