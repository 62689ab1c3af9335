/**
 * The currents of rails with a shunt. A supply that is stiff holds its volts into a fault, and a
 * heater string that is open leaves them as they are: only the current tells.
 */
import type { ChannelReading } from "../events/events.ts";
import type { PlannedCurrent, PlannedRail } from "../events/plan.ts";
import { type Ending, ending } from "./ending.ts";
import { readChannels } from "./look.ts";
import type { RunParts } from "./run-parts.ts";
import { currentEveryMs } from "./timing.ts";

/** Looks outside the limits, one after the other, before the run ends: one may be a disturbance. */
const LOOKS_MAX = 2;

export class CurrentWatch {
  readonly #parts: RunParts;
  readonly #outside = new Map<string, number>();
  #lookedMs = Number.NEGATIVE_INFINITY;

  constructor(parts: RunParts) {
    this.#parts = parts;
  }

  /** Look at every rail that is up, when it is time. @returns why to end, or null */
  async look(): Promise<Ending | null> {
    const { clock } = this.#parts;
    const watched = this.#watched();
    if (watched.length === 0 || clock.nowMs() - this.#lookedMs < currentEveryMs) return null;
    this.#lookedMs = clock.nowMs();
    const readings = await readChannels(
      watched.map(({ current }) => current.channel),
      this.#parts,
      "heartbeat",
    );
    // Looks at a rail that was off meanwhile do not follow one another.
    for (const rail of this.#outside.keys()) {
      if (watched.every((one) => one.rail.rail !== rail)) this.#outside.delete(rail);
    }
    for (const [index, one] of watched.entries()) {
      const reading = readings[index];
      if (reading === undefined) continue;
      const fault = currentFault(one, reading, this.#rushOf(one.rail));
      const looks = fault === null ? 0 : (this.#outside.get(one.rail.rail) ?? 0) + 1;
      this.#outside.set(one.rail.rail, looks);
      if (fault !== null && looks >= LOOKS_MAX) return fault;
    }
    return null;
  }

  #watched(): Watched[] {
    const { plan, rails } = this.#parts;
    return plan.rails.flatMap((rail) =>
      rail.current !== undefined && rails.state(rail.rail) === "raised"
        ? [{ rail, current: rail.current }]
        : [],
    );
  }

  #rushOf({ rail }: PlannedRail): Rush {
    const { rails, warmth } = this.#parts;
    if (rail !== "heater" || warmth.reached || rails.takenOverFromMs(rail) !== null) return "over";
    return rails.state("plate") === "off" ? "beyond range" : "beyond limit";
  }
}

/**
 * Cold heaters draw several times their current for some seconds (common practice). Until plate's turn,
 * which the board file says, they may draw more than the shunt can tell; until every section is warm,
 * more than their limit.
 */
export type Rush = "beyond range" | "beyond limit" | "over";

export interface Watched {
  readonly rail: PlannedRail;
  readonly current: PlannedCurrent;
}

/** Why a reading of a current speaks against going on, null when it does not. */
export function currentFault(
  { rail, current }: Watched,
  reading: ChannelReading,
  rush: Rush,
): Ending | null {
  const { channel, lowA, highA } = current;
  const limits = `${milliamperes(lowA)} to ${milliamperes(highA)}`;
  const fault = { code: "current-out-of-limits", net: channel };
  if (rush === "beyond range" && isBeyondRange(reading, rail)) return null;
  if (reading.volts === null) {
    const gave = isBeyondRange(reading, rail)
      ? `${rail.rail} draws more than its shunt can tell`
      : `the current of ${rail.rail} gave no reading (${reading.noReading})`;
    const next = "Look for a short or a leaky part, then at the shunt, its divider and its lead.";
    return ending("trip", `${gave}, expected ${limits}. ${next}`, fault);
  }
  const amperes = amperesOf(reading.volts, rail, current);
  const found = `${rail.rail} draws ${milliamperes(amperes)}, expected ${limits}`;
  if (amperes < lowA) {
    const what =
      rail.rail === "heater"
        ? "With its volts present, look for an open heater string, or a lead or fuse behind the relay."
        : "With its volts present, look for an open lead, fuse or bleeder behind the relay.";
    return ending("trip", `${found}. ${what}`, fault);
  }
  if (amperes > highA && rush === "over") {
    const what = "A stiff supply holds its volts into a fault: look for a short or a leaky part.";
    return ending("trip", `${found}. ${what}`, fault);
  }
  return null;
}

/** Clipped at the end to which current pulls the shunt; at the other, something else is wrong. */
function isBeyondRange({ noReading, min }: ChannelReading, { nominalV }: PlannedRail): boolean {
  return noReading === "clipped" && (nominalV > 0 ? min === 0 : min > 0);
}

/** Current out of the supply's live pole; its return goes the other way from common. */
function amperesOf(volts: number, rail: PlannedRail, { ohm }: PlannedCurrent): number {
  return ((rail.nominalV > 0 ? -1 : 1) * volts) / ohm;
}

function milliamperes(amperes: number): string {
  return `${Number((amperes * 1000).toPrecision(3))} mA`;
}
