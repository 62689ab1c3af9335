/**
 * What the loads of a run tell of the nets they hang on: two readings of one net in one state, before and
 * after its load alone was switched, give its source resistance. The board file's is held against it.
 */
import type { ChannelReading } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { voltsPerCode } from "../measure/divider.ts";
import { type MeasuredSource, sourceResistance } from "../measure/source-resistance.ts";
import { classOf } from "../verdict/level-class.ts";
import type { LineBook } from "./line-book.ts";

interface Seen {
  readonly volts: number;
  readonly isLoaded: boolean;
  /** Every other line, and the class: readings compare only where these are the same. */
  readonly rest: string;
}

export class SourceBook {
  readonly #plan: Plan;
  readonly #lines: Pick<LineBook, "levelOf">;
  readonly #last = new Map<string, Seen>();
  readonly #told = new Set<string>();

  constructor(plan: Plan, lines: Pick<LineBook, "levelOf">) {
    this.#plan = plan;
    this.#lines = lines;
  }

  /** @returns what is to be said of this net in this state, the first time that a load has told it */
  learn(reading: ChannelReading): string | null {
    if (reading.volts === null) return null;
    const load = this.#plan.lines.find((line) => line.load?.net === reading.channel);
    if (load?.load === undefined) return null;
    const isLoaded = this.#lines.levelOf(load.line) === "high";
    const found = classOf(reading.volts, this.#plan.contract);
    const others = this.#plan.lines.filter(({ line }) => line !== load.line);
    const rest = [found, ...others.map(({ line }) => this.#lines.levelOf(line))].join(" ");
    const before = this.#last.get(reading.channel);
    const now: Seen = { volts: reading.volts, isLoaded, rest };
    this.#last.set(reading.channel, now);
    if (before === undefined || before.rest !== rest || before.isLoaded === isLoaded) return null;
    const key = `${reading.channel} ${found}`;
    if (found === "between" || this.#told.has(key)) return null;
    const measured = this.#measure(reading.channel, load.load, before, now);
    if (measured === null) return null;
    this.#told.add(key);
    return this.#words(reading.channel, found, load.line, measured);
  }

  #measure(
    channel: string,
    { ohm: loadOhm, to }: { readonly ohm: number; readonly to: string },
    before: Seen,
    now: Seen,
  ): MeasuredSource | null {
    const planned = this.#plan.channels.find(({ name }) => name === channel);
    if (planned === undefined) return null;
    const rail = this.#plan.rails.find((one) => one.rail === to);
    const [open, loaded] = now.isLoaded ? [before, now] : [now, before];
    return sourceResistance({
      openV: open.volts,
      loadedV: loaded.volts,
      loadOhm,
      towardsV: rail?.nominalV ?? 0,
      stepV: voltsPerCode(planned.divider, planned.referenceV) / 2,
    });
  }

  #words(
    channel: string,
    found: LevelClass,
    line: string,
    { ohm, halfOhm }: MeasuredSource,
  ): string {
    const source = this.#plan.channels.find(({ name }) => name === channel)?.source;
    const said = `${channel} ${found} stands behind ${kilo(ohm)} ±${kilo(halfOhm)}, as ${line} shows`;
    if (source === undefined) return `${said}; the board file may say so in sources`;
    const filed = found === "low" ? source.lowOhm : source.highOhm;
    const apart = Math.abs(filed - ohm) > filed * source.part + halfOhm;
    return apart
      ? `${said}, but the board file says ${kilo(filed)}: correct its sources, for U rests on it`
      : `${said}; the board file says ${kilo(filed)}`;
  }
}

function kilo(ohm: number): string {
  return `${Number((ohm / 1000).toPrecision(2))} k`;
}
