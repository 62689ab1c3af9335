/** Volts as a meter shows them, with the step of its last digit: typed by a person, or answered to a query. */

export interface MeterValue {
  readonly meterV: number;
  /** One step of the last digit given, volts. */
  readonly digitV: number;
}

/** SCPI-1999 volume 1, 7.2.1.4: what stands for infinity; 9.91E37 is no number at all. */
const SCPI_INFINITY = 9.9e37;
const SCPI_NO_NUMBER = 9.91e37;
/** Far above any bench this is made for. */
const VOLTS_MAX = 1000;

const NUMBER = /^([+-]?)(\d{1,12})?(?:\.(\d{0,15}))?(?:[eE]([+-]?\d{1,3}))?$/;

/**
 * @param text such as `12.05`, `12.05 V`, `+1.2050E+01`
 * @returns why it is none, in one clause, instead of a value
 */
export function readMeterText(text: string): MeterValue | { readonly why: string } {
  const trimmed = text.trim().replace(/\s*V$/i, "");
  if (/^[+-]?\d+,\d+$/.test(trimmed))
    return { why: "expected a point, not a comma, in the number" };
  const [, sign = "", whole, part, exponent = "0"] = NUMBER.exec(trimmed) ?? [];
  if (whole === undefined && (part === undefined || part === "")) {
    return { why: "expected volts such as 12.05" };
  }
  const value = Number(`${sign}${whole ?? "0"}.${part === "" ? "0" : (part ?? "0")}e${exponent}`);
  const size = Math.abs(value);
  if (size === SCPI_NO_NUMBER) return { why: "the meter says that it has no number" };
  if (size >= SCPI_INFINITY) return { why: "the meter is over its range" };
  if (!(size <= VOLTS_MAX)) return { why: `expected at most ${VOLTS_MAX} V` };
  return { meterV: value, digitV: 10 ** (Number(exponent) - (part ?? "").length) };
}
