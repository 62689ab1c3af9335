/**
 * For how long the sockets of a board were on in a run, and how long each section was seen to conduct or
 * to be cut off. Rails by their switching; sections by the level of the net they drive, where two looks one
 * after the other saw it alike: between them it may have gone elsewhere and come back.
 */
import type { ChannelReading, JournalEntry, RunEvent } from "../events/events.ts";
import type { LevelClass, RailName } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { classOf, classOfReading } from "../verdict/level-class.ts";

/** Looks further apart say nothing of what was between them. */
const APART_MS_MAX = 60_000;

export interface BoardTime {
  /** With the heater rail on, with the plate rail on, and with heaters on and plate off. */
  readonly heaterMs: number;
  readonly plateMs: number;
  readonly heaterOnlyMs: number;
}

export interface SectionTime {
  readonly stage: string;
  readonly position: string;
  readonly section: string;
  readonly net: string;
  readonly conductingMs: number;
  readonly cutOffMs: number;
}

interface Sight {
  readonly class: LevelClass | null;
  readonly atMs: number;
}

interface NetTime {
  readonly last: Sight | null;
  readonly lowMs: number;
  readonly highMs: number;
}

const UNSEEN: NetTime = { last: null, lowMs: 0, highMs: 0 };

export class TubeTimeFold {
  readonly #plan: Plan;
  readonly #nets: Map<string, NetTime>;
  readonly #on = new Set<RailName>();
  #atMs = 0;
  #heaterMs = 0;
  #plateMs = 0;
  #heaterOnlyMs = 0;

  constructor(plan: Plan) {
    this.#plan = plan;
    this.#nets = new Map(plan.stages.map(({ output }) => [output, UNSEEN]));
  }

  take({ ms, event }: JournalEntry): void {
    // What was on when a leg was cut off went off at a moment that nobody saw.
    if (event.kind === "leg-begun") this.#on.clear();
    this.#pass(ms - this.#atMs);
    this.#atMs = ms;
    if (event.kind === "rail-switched") this.#switched(event.rail, event.on);
    if (event.kind === "rail-fall" && event.proof === "verified") this.#switched(event.rail, false);
    for (const [net, found] of this.#sights(event)) this.#see(net, { class: found, atMs: ms });
  }

  board(): BoardTime {
    const [heaterMs, plateMs, heaterOnlyMs] = [this.#heaterMs, this.#plateMs, this.#heaterOnlyMs];
    return { heaterMs, plateMs, heaterOnlyMs };
  }

  sections(): SectionTime[] {
    return this.#plan.stages.flatMap(({ stage, position, section, output }) => {
      if (position === undefined || section === undefined) return [];
      const { lowMs, highMs } = this.#nets.get(output) ?? UNSEEN;
      return { stage, position, section, net: output, conductingMs: lowMs, cutOffMs: highMs };
    });
  }

  #pass(ms: number): void {
    const heater = this.#on.has("heater");
    const plate = this.#on.has("plate");
    this.#heaterMs += heater ? ms : 0;
    this.#plateMs += plate ? ms : 0;
    this.#heaterOnlyMs += heater && !plate ? ms : 0;
  }

  #switched(rail: RailName, on: boolean): void {
    if (on) this.#on.add(rail);
    else this.#on.delete(rail);
    // A level is a section's only with all of its rails on.
    for (const [net, time] of this.#nets) this.#nets.set(net, { ...time, last: null });
  }

  #see(net: string, sight: Sight): void {
    const time = this.#nets.get(net);
    if (time === undefined || !(this.#on.has("heater") && this.#on.has("plate"))) return;
    const { last } = time;
    const ms = last === null ? 0 : sight.atMs - last.atMs;
    const stayed = last?.class === sight.class && ms <= APART_MS_MAX;
    this.#nets.set(net, {
      last: sight,
      lowMs: time.lowMs + (stayed && sight.class === "low" ? ms : 0),
      highMs: time.highMs + (stayed && sight.class === "high" ? ms : 0),
    });
  }

  #sights(event: RunEvent): [net: string, found: LevelClass | null][] {
    const { contract } = this.#plan;
    const read = (readings: readonly ChannelReading[]): [string, LevelClass | null][] =>
      readings.map((one) => [one.channel, classOfReading(one, contract)]);
    switch (event.kind) {
      case "watch":
      case "reading":
      case "hand-reading":
      case "freeze-turn":
        return read(event.readings);
      case "soak-readings":
        return event.steps.flatMap(({ readings }) => read(readings));
      case "soak-tally":
        // A cycle moves every net it judges: whatever was seen last is over.
        return event.spans.map(({ net }) => [net, null]);
      case "hold-progress":
        return Object.entries(event.worst).map(([net, { lowV, highV }]) => {
          const found = classOf(lowV, contract);
          return [net, classOf(highV, contract) === found ? found : "between"];
        });
      default:
        return [];
    }
  }
}
