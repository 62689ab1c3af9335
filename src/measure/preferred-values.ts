/** Preferred values of resistors and capacitors, IEC 60063. */

export type SeriesName = "E6" | "E12" | "E24" | "E48" | "E96" | "E192";

/** Two figures, historical: eight of them differ from plain rounding. */
const E24 = [
  1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6,
  6.2, 6.8, 7.5, 8.2, 9.1,
];
const SIZES = { E6: 6, E12: 12, E24: 24, E48: 48, E96: 96, E192: 192 } as const;
/** The one value of E192 that is not its rounded power of ten. */
const E192_EXCEPTION = { at: 185, value: 9.2 };

export const SERIES_NAMES = Object.keys(SIZES) as SeriesName[];

/** Values of one decade, from 1.0 up. */
export function decade(series: SeriesName): readonly number[] {
  const size = SIZES[series];
  if (size <= 24) return E24.filter((_, at) => at % (24 / size) === 0);
  return Array.from({ length: size }, (_, at) => {
    const finest = (at * 192) / size;
    if (finest === E192_EXCEPTION.at) return E192_EXCEPTION.value;
    return Math.round(100 * 10 ** (at / size)) / 100;
  });
}

/** Every value of a series between two bounds, both included, rising. */
export function preferredBetween(series: SeriesName, from: number, to: number): number[] {
  const values: number[] = [];
  for (let power = Math.floor(Math.log10(from)); 10 ** power <= to; power += 1) {
    for (const value of decade(series)) {
      // Three figures, so that 4.7 times a power of ten is that and no dust.
      const whole = Number((value * 10 ** power).toPrecision(3));
      if (whole >= from && whole <= to) values.push(whole);
    }
  }
  return values;
}
