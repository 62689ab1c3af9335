/** Quantities as people write them. */

/** Ohms with a prefix: `330 kohm`. */
export function ohms(value: number): string {
  if (value >= 1e6) return `${Number((value / 1e6).toPrecision(4))} Mohm`;
  if (value >= 1e3) return `${Number((value / 1e3).toPrecision(4))} kohm`;
  return `${Number(value.toPrecision(4))} ohm`;
}

/** Volts, millivolts below one volt: `53.7 mV`. */
export function smallVolts(value: number): string {
  return value < 1
    ? `${Number((value * 1e3).toPrecision(3))} mV`
    : `${Number(value.toPrecision(3))} V`;
}

/** Milliseconds as the unit that suits: `100 ms`, `12 s`, `2 min 7 s`, `1 h 5 min`. */
export function duration(ms: number): string {
  if (ms < 1000) return `${Number(ms.toPrecision(3))} ms`;
  const wholeS = Math.round(ms / 1000);
  if (wholeS < 60) return `${Number((ms / 1000).toPrecision(3))} s`;
  const min = Math.floor(wholeS / 60);
  const restS = wholeS % 60;
  if (min < 60) return restS === 0 ? `${min} min` : `${min} min ${restS} s`;
  return `${Math.floor(min / 60)} h ${min % 60} min`;
}
