/** What each net and line was read at, by the class it was to have. */
import type { RunEvent } from "../../events/events.ts";
import type { LevelClass } from "../../events/levels.ts";
import type { Plan } from "../../events/plan.ts";

/** All readings of one channel that were to have one class. */
export interface LevelSpan {
  readonly channel: string;
  readonly expected: LevelClass;
  readonly lowV: number;
  readonly highV: number;
  /** Largest expanded uncertainty among them; null where it is not evaluated. */
  readonly expandedV: number | null;
}

export class LevelFold {
  readonly #plan: Plan;
  readonly #spans = new Map<string, LevelSpan>();

  constructor(plan: Plan) {
    this.#plan = plan;
  }

  take(event: RunEvent): void {
    switch (event.kind) {
      case "reading":
        this.#takeJudged(event.readings);
        break;
      case "soak-readings":
        // Not what the contract is held to.
        if (event.moment === "heater low") break;
        for (const { readings } of event.steps) this.#takeJudged(readings);
        break;
      case "cycle-error":
        this.#takeJudged(event.readings);
        break;
      case "hold-progress":
        this.#takeHold(event);
        break;
      case "soak-tally":
        for (const { net, class: expected, lowV, highV } of event.spans) {
          this.#widen({ channel: net, expected, lowV, highV, expandedV: null });
        }
        break;
    }
  }

  spans(): LevelSpan[] {
    return [...this.#spans.values()];
  }

  #takeJudged(readings: Extract<RunEvent, { kind: "reading" }>["readings"]): void {
    for (const { channel, expected, volts, expandedV } of readings) {
      if (volts === null) continue;
      const u = expandedV ?? null;
      this.#widen({ channel, expected, lowV: volts, highV: volts, expandedV: u });
    }
  }

  #takeHold({ step, part, worst }: Extract<RunEvent, { kind: "hold-progress" }>): void {
    const planned = this.#plan.steps[step];
    if (planned?.kind !== "hold") return;
    const expect = part === "hold" ? planned.expect : planned.flip.expect;
    for (const [channel, { lowV, highV, expandedV }] of Object.entries(worst)) {
      const expected = expect[channel];
      if (expected === undefined) continue;
      this.#widen({ channel, expected, lowV, highV, expandedV: expandedV ?? null });
    }
  }

  #widen(one: LevelSpan): void {
    const key = `${one.channel} ${one.expected}`;
    const known = this.#spans.get(key);
    this.#spans.set(
      key,
      known === undefined
        ? one
        : {
            ...known,
            lowV: Math.min(known.lowV, one.lowV),
            highV: Math.max(known.highV, one.highV),
            expandedV: larger(known.expandedV, one.expandedV),
          },
    );
  }
}

function larger(one: number | null, other: number | null): number | null {
  if (one === null || other === null) return one ?? other;
  return Math.max(one, other);
}
