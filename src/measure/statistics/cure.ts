/**
 * Whether a repair has cured an intermittent, or the night was merely lucky: the exact conditional test of
 * two rates (Fisher 1935, The Design of Experiments; for Poisson counts Przyborowski and Wilenski 1940,
 * Biometrika 31, 313-323). If nothing changed, the errors seen in all fall on the cycles before and after
 * as if dealt out; so many before and so few after has then a chance that can be counted.
 *
 * It holds as well where the first count was ended by an error. To look at it again and again is free as
 * long as the cycles since the repair are clean: the chance only falls, and passes the level no more often
 * than the level says. After a further error it is not: each error opens another chance to be lucky.
 */
import { hypergeometricAtMost } from "./binomial.ts";
import { leastWhole } from "./whole-search.ts";

/** A chance that is the level to the last digits has reached it: 1000 / 20 000 is 5 %. */
const ROUNDING = 1 + 1e-10;

export interface Counted {
  readonly errors: number;
  readonly cycles: number;
}

export interface Repair {
  readonly before: Counted;
  readonly after: Counted;
}

/**
 * The chance of as few errors since the repair, or fewer, if it has changed nothing.
 *
 * @throws RangeError where there were no errors before, or more errors than cycles
 */
export function chanceUnchanged({ before, after }: Repair): number {
  checkCounted(before);
  checkCounted(after);
  if (before.errors === 0) {
    throw new RangeError("A repair is judged against errors before it, and there were none.");
  }
  return hypergeometricAtMost(after.errors, {
    drawn: after.cycles,
    marked: before.errors + after.errors,
    total: before.cycles + after.cycles,
  });
}

/**
 * Further cycles, all clean, until "nothing changed" has no more than this chance; 0 where it has
 * already. One error in n cycles takes 19 n at 5 %.
 *
 * @param level 0 < level < 1
 * @returns Infinity where errors since the repair leave no hope within countable cycles
 */
export function cleanCyclesNeeded({ before, after }: Repair, level = 0.05): number {
  if (!(level > 0 && level < 1)) {
    throw new RangeError(`A level lies between 0 and 1, got ${level}.`);
  }
  return leastWhole((more) => {
    const cycles = after.cycles + more;
    return chanceUnchanged({ before, after: { ...after, cycles } }) <= level * ROUNDING;
  }, 0);
}

function checkCounted({ errors, cycles }: Counted): void {
  const counts = Number.isSafeInteger(errors) && Number.isSafeInteger(cycles);
  if (!(counts && errors >= 0 && errors <= cycles)) {
    throw new RangeError(`Errors are counted among cycles, got ${errors} among ${cycles}.`);
  }
}
