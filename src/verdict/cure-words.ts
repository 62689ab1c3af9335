/** Where a repair of an intermittent stands, in sentences: cured, not yet shown, or come back. */
import type { Repair } from "../measure/statistics/cure.ts";
import { chanceUnchanged, cleanCyclesNeeded } from "../measure/statistics/cure.ts";
import { chanceText, partText } from "./chance-words.ts";
import { timeNeeded } from "./time-needed.ts";

/** Where a repair stands, as data. */
export interface CureState extends Repair {
  /** At most this chance of calling a cure that is none. */
  readonly level: number;
  /** Chance of so few errors since, had nothing changed. */
  readonly chance: number;
  /** Further clean cycles until it is at most the level; 0: it is. */
  readonly cyclesNeeded: number;
  readonly state: "shown" | "not yet shown" | "came back";
}

/**
 * @throws RangeError where there were no errors before, or counts are none
 */
export function cureState(repair: Repair, level = 0.05): CureState {
  const cyclesNeeded = cleanCyclesNeeded(repair, level);
  const state = cyclesNeeded === 0 ? "shown" : "not yet shown";
  return {
    ...repair,
    level,
    chance: chanceUnchanged(repair),
    cyclesNeeded,
    // One more error of the same kind is proof enough that the fault is still there.
    state: repair.after.errors > 0 ? "came back" : state,
  };
}

/** @param cycleMs from the start of one cycle to the next, for the time it will take */
export function cureWords(cure: CureState, cycleMs: number): string[] {
  const { before, after, chance, cyclesNeeded, level, state } = cure;
  const was = `${counted(before)} before the repair`;
  const risk = partText(level);
  if (state === "came back") {
    const rarer =
      cyclesNeeded === 0
        ? `It is rarer than it was, at the ${risk} level; rarer is not cured.`
        : `Whether it is even rarer than it was is open: had nothing changed, as few or fewer would come by a chance of ${chanceText(chance)}.`;
    return [
      `Not cured: ${counted(after)} since the repair, after ${was}.`,
      rarer,
      "Look further, and count anew from the next repair.",
    ];
  }
  const since = `${was}; ${after.cycles} clean cycles since.`;
  if (state === "shown") {
    return [
      since,
      `Had the repair changed nothing, so long a clean stretch would come by a chance of ${chanceText(chance)}: the change is shown at the ${risk} level. That it never comes again is not.`,
    ];
  }
  return [
    since,
    `Not shown yet: had the repair changed nothing, so long a clean stretch would come by a chance of ${chanceText(chance)}.`,
    `${cyclesNeeded} more clean cycles${cycleMs > 0 ? `, ${timeNeeded(cyclesNeeded * cycleMs)},` : ""} show a change at the ${risk} level.`,
  ];
}

function counted({ errors, cycles }: Repair["before"]): string {
  return `${errors} ${errors === 1 ? "error" : "errors"} in ${cycles} cycles`;
}
