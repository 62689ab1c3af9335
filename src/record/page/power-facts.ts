/** The rails over the whole run, as a page draws them: volts, gates, falls, phases, legs. */
import type { ChannelReading, JournalEntry, Phase, RunEvent } from "../../events/events.ts";
import type { RailName } from "../../events/levels.ts";
import type { Plan, PlannedRail } from "../../events/plan.ts";
import { type Silence, SilenceWatch } from "../silence.ts";
import { MinMaxSeries } from "./min-max-series.ts";

/** More marks than this hide each other; the count is told beside the chart. */
const MARKS_MAX = 120;

export interface PowerMark {
  readonly ms: number;
  readonly kind: "gate" | "shut gate" | "on" | "off" | "fall" | "unproved fall";
}

export interface RailCurve {
  readonly planned: PlannedRail;
  readonly source: MinMaxSeries;
  readonly board: MinMaxSeries;
  readonly marks: readonly PowerMark[];
  /** Marks beyond what is kept. */
  readonly marksLeftOut: number;
}

export interface PhaseSpan {
  readonly phase: Phase;
  readonly fromMs: number;
  readonly toMs: number;
}

export interface PowerFacts {
  readonly rails: readonly RailCurve[];
  readonly phases: readonly PhaseSpan[];
  readonly phasesLeftOut: number;
  /** Times of which nobody knows. */
  readonly blind: readonly Silence[];
  readonly lengthMs: number;
}

export class PowerFold {
  readonly #rails: ReadonlyMap<RailName, { -readonly [K in keyof RailCurve]: RailCurve[K] }>;
  readonly #byChannel = new Map<string, MinMaxSeries>();
  readonly #phases: PhaseSpan[] = [];
  readonly #blind: Silence[] = [];
  readonly #silence = new SilenceWatch();
  #phasesLeftOut = 0;
  #phase: { readonly phase: Phase; readonly fromMs: number } | null = null;
  #lastMs = 0;

  constructor(plan: Plan) {
    this.#rails = new Map(
      plan.rails.map((planned) => {
        const source = new MinMaxSeries();
        const board = new MinMaxSeries();
        this.#byChannel.set(planned.sourceChannel, source);
        this.#byChannel.set(planned.boardChannel, board);
        return [planned.rail, { planned, source, board, marks: [], marksLeftOut: 0 }];
      }),
    );
  }

  take(entry: JournalEntry): void {
    const { ms, event } = entry;
    const silence = this.#silence.take(entry);
    if (silence !== null && this.#blind.length < MARKS_MAX) this.#blind.push(silence);
    this.#lastMs = ms;
    switch (event.kind) {
      case "phase":
        this.#endPhase(ms);
        this.#phase = { phase: event.phase, fromMs: ms };
        break;
      case "watch":
        this.#takeReadings(ms, event.readings);
        break;
      case "soak-readings":
      case "cycle-error":
        this.#takeReadings(ms, event.rails);
        break;
      case "gate":
        this.#takeReadings(ms, [event.reading]);
        this.#mark(event.rail, { ms, kind: event.open ? "gate" : "shut gate" });
        break;
      case "rail-switched":
        this.#mark(event.rail, { ms, kind: event.on ? "on" : "off" });
        break;
      case "rail-fall":
        this.#takeFall(ms, event);
        break;
    }
  }

  facts(): PowerFacts {
    this.#endPhase(this.#lastMs);
    this.#phase = null;
    return {
      rails: [...this.#rails.values()],
      phases: this.#phases,
      phasesLeftOut: this.#phasesLeftOut,
      blind: this.#blind,
      lengthMs: this.#lastMs,
    };
  }

  #takeFall(ms: number, event: Extract<RunEvent, { kind: "rail-fall" }>): void {
    const proved = event.proof === "verified" || event.proof === "kept on";
    this.#mark(event.rail, { ms, kind: proved ? "fall" : "unproved fall" });
    if (event.volts !== null) this.#rails.get(event.rail)?.board.take(ms, event.volts);
  }

  #takeReadings(ms: number, readings: readonly ChannelReading[]): void {
    for (const { channel, volts } of readings) {
      if (volts !== null) this.#byChannel.get(channel)?.take(ms, volts);
    }
  }

  #mark(name: RailName, mark: PowerMark): void {
    const rail = this.#rails.get(name);
    if (rail === undefined) return;
    if (rail.marks.length < MARKS_MAX) rail.marks = [...rail.marks, mark];
    else rail.marksLeftOut += 1;
  }

  #endPhase(toMs: number): void {
    if (this.#phase === null) return;
    if (this.#phases.length < MARKS_MAX) this.#phases.push({ ...this.#phase, toMs });
    else this.#phasesLeftOut += 1;
  }
}
