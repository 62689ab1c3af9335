/** What a look at the rails says about going on. Pure. */
import type { Plan, PlannedRail } from "../events/plan.ts";
import { readingText } from "../measure/reading-text.ts";
import { voltsText } from "../measure/volts-text.ts";
import type { RailLook } from "./look.ts";
import { isBeyondCeiling, isInside, type RailBook, type RailWindow } from "./rail-book.ts";

export interface RailFinding {
  /** `beyond ceiling` ends at once; `out of window` is looked at twice. */
  readonly kind: "beyond ceiling" | "out of window";
  readonly detail: string;
  /** The channel that showed it. */
  readonly channel: string;
}

/**
 * First thing wrong with the rails, worst first, or null.
 *
 * A raised rail must read inside its window at source and board; one that is being raised only
 * below its ceiling. No reading of a raised rail is not inside its window.
 */
export function findRailTrouble(
  looks: readonly RailLook[],
  book: Pick<RailBook, "state" | "window">,
  plan: Plan,
): RailFinding | null {
  const stateOf = ({ rail }: PlannedRail) => book.state(rail);
  const energised = looks.filter(({ rail }) => ["raising", "raised"].includes(stateOf(rail)));
  for (const look of energised) {
    const beyond = beyondCeiling(look);
    if (beyond !== null) return beyond;
  }
  const between = beyondBetweenRails(energised, plan);
  if (between !== null) return between;
  for (const look of energised.filter(({ rail }) => stateOf(rail) === "raised")) {
    const outside = outOfWindow(look, book.window(look.rail), plan);
    if (outside !== null) return outside;
  }
  return null;
}

function beyond(channel: string, detail: string): RailFinding {
  return { kind: "beyond ceiling", channel, detail };
}

function beyondCeiling({ rail, source, board }: RailLook): RailFinding | null {
  for (const { channel, noReading, volts } of [source, board]) {
    if (noReading === "clipped") {
      return beyond(
        channel,
        `${channel} is at the end of its range: above ${rail.ceilingV} V cannot be excluded`,
      );
    }
    if (volts !== null && isBeyondCeiling(volts, rail)) {
      return beyond(
        channel,
        `${channel} reads ${voltsText(volts)}, beyond the ceiling of ${rail.ceilingV} V`,
      );
    }
  }
  return null;
}

/** Ceilings that involve two points: between rails, and each rail over its open contact. */
function beyondBetweenRails(looks: readonly RailLook[], plan: Plan): RailFinding | null {
  const { betweenRailsV, contactDcV, heaterToCathodeV } = plan.ceilings;
  const points = looks.flatMap(({ rail, board }) =>
    board.volts === null ? [] : [{ rail: rail.rail, channel: board.channel, volts: board.volts }],
  );
  for (const one of points) {
    if (Math.abs(one.volts) > contactDcV) {
      return beyond(
        one.channel,
        `${one.rail} reads ${voltsText(one.volts)}, beyond the contacts' ${contactDcV} V`,
      );
    }
    if (one.rail === "heater" && Math.abs(one.volts) > heaterToCathodeV) {
      return beyond(
        one.channel,
        `heater reads ${voltsText(one.volts)}, beyond ${heaterToCathodeV} V from heater to cathode`,
      );
    }
    for (const other of points) {
      const betweenV = Math.abs(one.volts - other.volts);
      if (betweenV > betweenRailsV) {
        return beyond(
          one.channel,
          `${one.rail} and ${other.rail} are ${voltsText(betweenV)} apart, beyond ${betweenRailsV} V between rails`,
        );
      }
    }
  }
  return null;
}

function outOfWindow(
  { source, board }: RailLook,
  window: RailWindow,
  plan: Plan,
): RailFinding | null {
  for (const reading of [source, board]) {
    if (reading.volts === null || !isInside(reading.volts, window)) {
      const detail = `${reading.channel} reads ${readingText(reading, plan)}, outside ${windowText({ window })}`;
      return { kind: "out of window", channel: reading.channel, detail };
    }
  }
  return null;
}

export function windowText({ window }: { readonly window: RailWindow }): string {
  return `${window.lowV}..${window.highV} V`;
}
