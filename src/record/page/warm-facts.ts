/** Nets while the board warms up: each look at them, from heaters on. */
import type { JournalEntry } from "../../events/events.ts";
import type { Plan } from "../../events/plan.ts";
import { MinMaxSeries } from "./min-max-series.ts";

export interface WarmCurve {
  readonly net: string;
  /** ms from heaters on, volts. */
  readonly series: MinMaxSeries;
}

export interface WarmFacts {
  readonly curves: readonly WarmCurve[];
  /** From heaters on to the end of warm-up, or of what is known of it. */
  readonly lengthMs: number;
  /** Later warm-ups, which are not drawn. */
  readonly more: number;
}

export class WarmFold {
  readonly #curves: ReadonlyMap<string, MinMaxSeries>;
  #heatersOnMs: number | null = null;
  #isOver = false;
  #lengthMs = 0;
  #more = 0;

  constructor(plan: Plan) {
    const nets = new Set(plan.warmUp.exercise.flatMap(({ pullsLow }) => pullsLow));
    this.#curves = new Map([...nets].map((net) => [net, new MinMaxSeries()]));
  }

  take({ ms, event }: JournalEntry): void {
    if (event.kind === "warm-up-ended") {
      if (this.#isOver) this.#more += 1;
      this.#isOver = true;
      return;
    }
    if (this.#isOver) return;
    if (event.kind === "rail-switched" && event.rail === "heater" && event.on) {
      this.#heatersOnMs ??= ms;
    }
    if (this.#heatersOnMs === null) return;
    const sinceMs = ms - this.#heatersOnMs;
    if (event.kind === "net-warm") this.#takeLook(sinceMs, event.net, event.volts);
    if (event.kind !== "watch") return;
    for (const { channel, volts } of event.readings) this.#takeLook(sinceMs, channel, volts);
  }

  #takeLook(sinceMs: number, net: string, volts: number | null): void {
    const series = this.#curves.get(net);
    if (series === undefined || volts === null) return;
    series.take(sinceMs, volts);
    this.#lengthMs = sinceMs;
  }

  facts(): WarmFacts {
    const curves = [...this.#curves].map(([net, series]) => ({ net, series }));
    return { curves, lengthMs: this.#lengthMs, more: this.#more };
  }
}
