/** Chances and parts as a person weighs them. */

/** A chance as odds, such as `1 in 3400`; a common one in per cent. */
export function chanceText(chance: number): string {
  if (chance > 0.2) return `${Math.round(100 * chance)} %`;
  return chance < 1e-9 ? "less than 1 in 1000000000" : `1 in ${rounded(1 / chance)}`;
}

/** A part of a whole in per cent, as fine as it needs. */
export function partText(part: number): string {
  const percent = 100 * part;
  if (percent >= 10 || percent === 0) return `${Math.round(percent)} %`;
  return `${Number(percent.toPrecision(2))} %`;
}

/** To two digits downwards: a rarity is not made greater than it is. */
export function rounded(count: number): number {
  if (count < 100) return Math.floor(count + 1e-9);
  const unit = 10 ** (Math.floor(Math.log10(count)) - 1);
  return Math.floor(count / unit + 1e-9) * unit;
}
