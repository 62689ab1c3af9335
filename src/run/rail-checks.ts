/** What a look at the rails says about going on. Pure. */
import type { Plan, PlannedRail } from "../events/plan.ts";
import { type RailLook, voltsText } from "./look.ts";
import { isBeyondCeiling, isInWindow, type RailState } from "./rail-book.ts";

export interface RailFinding {
  /** `beyond ceiling` ends at once; `out of window` is looked at twice. */
  readonly kind: "beyond ceiling" | "out of window";
  readonly detail: string;
}

/**
 * First thing wrong with the rails, worst first, or null.
 *
 * A raised rail must read inside its window at source and board; one that is being raised only
 * below its ceiling. No reading of a raised rail is not inside its window.
 */
export function findRailTrouble(
  looks: readonly RailLook[],
  stateOf: (rail: PlannedRail) => RailState,
  plan: Plan,
): RailFinding | null {
  const energised = looks.filter(({ rail }) => ["raising", "raised"].includes(stateOf(rail)));
  for (const look of energised) {
    const beyond = beyondCeiling(look);
    if (beyond !== null) return { kind: "beyond ceiling", detail: beyond };
  }
  const between = beyondBetweenRails(energised, plan);
  if (between !== null) return { kind: "beyond ceiling", detail: between };
  for (const look of energised.filter(({ rail }) => stateOf(rail) === "raised")) {
    const outside = outOfWindow(look);
    if (outside !== null) return { kind: "out of window", detail: outside };
  }
  return null;
}

function beyondCeiling({ rail, source, board }: RailLook): string | null {
  for (const reading of [source, board]) {
    if (reading.noReading === "clipped") {
      return `${reading.channel} is at the end of its range: above ${rail.ceilingV} V cannot be excluded`;
    }
    if (reading.volts !== null && isBeyondCeiling(reading.volts, rail)) {
      return `${reading.channel} reads ${voltsText(reading)}, beyond the ceiling of ${rail.ceilingV} V`;
    }
  }
  return null;
}

/** Ceilings that involve two points: between rails, and each rail over its open contact. */
function beyondBetweenRails(looks: readonly RailLook[], plan: Plan): string | null {
  const { betweenRailsV, contactDcV, heaterToCathodeV } = plan.ceilings;
  const points = looks.flatMap(({ rail, board }) =>
    board.volts === null ? [] : [{ rail: rail.rail, volts: board.volts }],
  );
  for (const one of points) {
    if (Math.abs(one.volts) > contactDcV) {
      return `${one.rail} reads ${one.volts.toFixed(2)} V, beyond the contacts' ${contactDcV} V`;
    }
    if (one.rail === "heater" && Math.abs(one.volts) > heaterToCathodeV) {
      return `heater reads ${one.volts.toFixed(2)} V, beyond ${heaterToCathodeV} V from heater to cathode`;
    }
    for (const other of points) {
      const betweenV = Math.abs(one.volts - other.volts);
      if (betweenV > betweenRailsV) {
        return `${one.rail} and ${other.rail} are ${betweenV.toFixed(2)} V apart, beyond ${betweenRailsV} V between rails`;
      }
    }
  }
  return null;
}

function outOfWindow({ rail, source, board }: RailLook): string | null {
  for (const reading of [source, board]) {
    if (reading.volts === null || !isInWindow(reading.volts, rail)) {
      return `${reading.channel} reads ${voltsText(reading)}, outside ${windowText(rail)}`;
    }
  }
  return null;
}

export function windowText({ window }: PlannedRail): string {
  return `${window.lowV}..${window.highV} V`;
}
