/** Volts as a person reads them in a log line, a miss or a record. */

/** `, ripple 0.32 V`, of a reading over whole periods of the mains; nothing for another. */
export function rippleText({ rippleV }: { readonly rippleV?: number | undefined }): string {
  return rippleV === undefined ? "" : `, ripple ${voltsText(rippleV)}`;
}

/** `11.77 ±0.31 V`; without an uncertainty, the volts alone. */
export function measuredText(
  volts: number,
  { expandedV }: { readonly expandedV?: number | undefined },
): string {
  if (expandedV === undefined) return voltsText(volts);
  return `${voltsText(volts).replace(/ V$/, "")} ±${uncertaintyText(expandedV)} V`;
}

/** Two digits at most and never fewer than a reader needs: 0.31, 1.2, 0.048. */
export function uncertaintyText(expandedV: number): string {
  return expandedV >= 0.1 ? expandedV.toFixed(2) : String(Number(expandedV.toPrecision(2)));
}

/** Two decimals, about the step of a 10-bit converter behind a divider; nothing has no sign. */
export function voltsText(volts: number): string {
  const rounded = volts.toFixed(2);
  return `${rounded === "-0.00" ? "0.00" : rounded} V`;
}

/** A limit as it stands in the file, without padding zeros. */
export function limitText(volts: number): string {
  return String(Number(volts.toFixed(2)));
}

/** `-26.4 to -21.6 V` */
export function windowText(window: { readonly lowV: number; readonly highV: number }): string {
  return `${limitText(window.lowV)} to ${limitText(window.highV)} V`;
}
