/** Volts as a person reads them in a log line, a miss or a record. */

/** `, ripple 0.32 V`, of a reading over whole periods of the mains; nothing for another. */
export function rippleText({ rippleV }: { readonly rippleV?: number | undefined }): string {
  return rippleV === undefined ? "" : `, ripple ${voltsText(rippleV)}`;
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
