/** A divider to offer for the volts that must be read, and what one covers in words. */
import { type DividerParts, readableRange, volts } from "../plan/divider-range.ts";

export interface MustReadV {
  readonly lowV: number;
  readonly highV: number;
}

/** Preferred numbers of IEC 60063, series E12. */
const E12 = [1, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2] as const;
const DECADES = [1e3, 1e4, 1e5, 1e6, 1e7] as const;
const LADDER_OHM = DECADES.flatMap((decade) => E12.map((step) => Math.round(step * decade)));

/** Room beyond what must be read, so that resistors of 5 % and the reference leave no clipping. */
const ROOM = 1.08;

/** Resistors of the shipped rigs on the far side of the pin, ohms. */
const BOTTOM_OHM = 10_000;
const NEGATIVE = { bottomOhm: 22_000, pullUpOhm: 15_000 } as const;

/**
 * The smallest top resistor of the series that covers the volts with room.
 *
 * @param bottomOhm for nodes that do not go below common; higher loads the node less
 * @returns null when none of the series up to 82 Mohm covers them
 */
export function offerDivider(
  must: MustReadV,
  referenceV: number,
  bottomOhm = BOTTOM_OHM,
): Omit<DividerParts, "capacitorNf"> | null {
  const rest = must.lowV < 0 ? NEGATIVE : { bottomOhm };
  const roomy = { lowV: must.lowV * ROOM, highV: must.highV * ROOM };
  const found = LADDER_OHM.find((topOhm) =>
    covers({ topOhm, ...rest, capacitorNf: 0 }, referenceV, roomy),
  );
  return found === undefined ? null : { topOhm: found, ...rest };
}

/** Whether a divider reads so far, by the rule that `check` holds rigs to. */
export function covers(divider: DividerParts, referenceV: number, must: MustReadV): boolean {
  const { lowV, highV } = readableRange(divider, referenceV);
  const lowEnough = must.lowV < 0 ? lowV < must.lowV : lowV <= must.lowV;
  return lowEnough && highV > must.highV;
}

/** `covers -33.3 V to 27.7 V`. */
export function coverWords(divider: DividerParts, referenceV: number): string {
  const { lowV, highV } = readableRange(divider, referenceV);
  const rounded = (value: number) => volts(Number(value.toFixed(1)));
  return `covers ${rounded(lowV)} to ${rounded(highV)}`;
}
