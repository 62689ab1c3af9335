/** Values as a row of bars, one letter each, for a terminal or a pipe. */

const BARS = "▁▂▃▄▅▆▇█";
const ASCII_BARS = "_.-~=+*#";

/**
 * @param values oldest first; null leaves a gap
 * @param scale  what the lowest and the highest bar stand for; values beyond are cut to them
 */
export function sparkline(
  values: readonly (number | null)[],
  scale: { readonly low: number; readonly high: number },
  ascii: boolean,
): string {
  const bars = [...(ascii ? ASCII_BARS : BARS)];
  const { low, high } = scale;
  return values
    .map((value) => {
      if (value === null) return " ";
      const share = high > low ? (value - low) / (high - low) : 0.5;
      const at = Math.floor(Math.min(1, Math.max(0, share)) * bars.length);
      return bars[Math.min(bars.length - 1, at)];
    })
    .join("");
}
