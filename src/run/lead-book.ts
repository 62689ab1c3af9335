/**
 * Which leads have been proved in this run: only then does code 0 mean "at most one step" and not
 * perhaps an open lead.
 */
import type { ChannelReading } from "../events/events.ts";
import type { Plan, PlannedChannel } from "../events/plan.ts";
import { classOf } from "../verdict/level-class.ts";

export class LeadBook {
  readonly #plan: Plan;
  readonly #proved = new Set<string>();

  constructor(plan: Plan) {
    this.#plan = plan;
  }

  isProved(channel: string): boolean {
    return this.#proved.has(channel);
  }

  /** Take a reading into account; returns whether the lead is proved now. */
  learn(reading: ChannelReading, channel: PlannedChannel): boolean {
    if (reading.volts !== null && showsLead(reading.volts, channel, this.#plan)) {
      this.#proved.add(channel.name);
    }
    return this.isProved(channel.name);
  }
}

/**
 * Whether these volts could not come from an open lead: a rail inside its window, a net or line
 * clearly above zero, which is above class low.
 */
export function showsLead(volts: number, channel: PlannedChannel, plan: Plan): boolean {
  const { reads } = channel;
  // Its divider is an offset one: a reading inside its range is a lead that is on.
  if (reads.kind === "shunt") return true;
  if (reads.kind !== "rail") return classOf(volts, plan.contract) !== "low";
  const window = plan.rails.find((rail) => rail.rail === reads.rail)?.window;
  return window !== undefined && volts >= window.lowV && volts <= window.highV;
}
