/** How long a journal that is being written may say nothing, by what the run is doing. */
import type { JournalEntry, Phase } from "../events/events.ts";

/** A run with power on writes a look at its rails every second; ten of them are missing then. */
const SILENT_MS = 10_000;
/** A soak keeps a look a minute, so that a night stays small. */
const SOAK_SILENT_MS = 75_000;
/** A controller that was lost is looked for without a word, and with every rail let go. */
const LOOKING_SILENT_MS = 11 * 60_000;

const OF_A_SOAK: ReadonlySet<Phase> = new Set<Phase>(["soaking", "dwelling", "heaters low"]);

export class SilenceLimit {
  #phase: Phase | null = null;
  /** Of a power cycle, ms. */
  #offMs = 0;
  #isPlanned = false;

  take({ event }: JournalEntry): void {
    if (event.kind === "phase") this.#phase = event.phase;
    else if (event.kind === "run-opened") this.#offMs = event.soak?.power?.offMs ?? 0;
    else if (event.kind === "leg-ended") this.#isPlanned = event.cause === "power cycle";
    // Once power comes on again the phases of the next leg say more.
    else if (event.kind === "leg-begun") this.#phase = null;
  }

  /** Beyond this its program may be gone, ms. */
  get ms(): number {
    if (this.#phase === null) return SILENT_MS;
    if (OF_A_SOAK.has(this.#phase)) return SOAK_SILENT_MS;
    if (this.#phase !== "power off") return SILENT_MS;
    return this.#isPlanned ? this.#offMs + SILENT_MS : LOOKING_SILENT_MS;
  }
}
