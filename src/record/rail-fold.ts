/** One rail of a record: volts at its gates, and how it is known to be off. */
import type { FallProof, RunEvent } from "../events/events.ts";
import type { PlannedRail } from "../events/plan.ts";
import type { RailRecord } from "./acceptance-record.ts";

export class RailFold {
  readonly #planned: PlannedRail;
  #sourceV: number | null = null;
  #boardV: number | null = null;
  #riseMs: number | null = null;
  #raised = false;
  #takenOver = false;
  #fall: Extract<RunEvent, { kind: "rail-fall" }> | null = null;

  constructor(planned: PlannedRail) {
    this.#planned = planned;
  }

  take(event: RunEvent): void {
    if (!("rail" in event) || event.rail !== this.#planned.rail) return;
    if (event.kind === "gate" && event.gate === "source") {
      this.#sourceV = event.reading.volts;
    } else if (event.kind === "gate") {
      this.#boardV = event.reading.volts;
      // A later look at the same gate, such as at bias before plate, has not waited for a rise.
      this.#riseMs = this.#riseMs ?? (this.#takenOver ? null : event.waitedMs);
    } else if (event.kind === "rail-switched" && event.on) {
      this.#raised = true;
      this.#takenOver = event.takenOverMs !== undefined;
    } else if (event.kind === "rail-fall") {
      this.#fall = event;
    }
  }

  record(): RailRecord {
    const { rail, nominalV, window, ceilingV } = this.#planned;
    const never: FallProof = this.#raised ? "unproved" : "never raised";
    return {
      rail,
      nominalV,
      lowV: window.lowV,
      highV: window.highV,
      ceilingV,
      sourceV: this.#sourceV,
      boardV: this.#boardV,
      riseMs: this.#riseMs,
      fall: this.#fall?.proof ?? never,
      fallV: this.#fall?.volts ?? null,
      fallMs: this.#fall?.tookMs ?? null,
    };
  }
}
