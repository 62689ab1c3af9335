/**
 * Log relative error: how many leading digits of a result agree with the certified value (McCullough
 * 1998, The American Statistician 52, 358-366). Certified values are printed to 15 digits, so no more than
 * 15 are ever counted; against a certified 0 it is the absolute error that counts.
 */
export function lre(found: number, certified: string | number): number {
  const value = Number(certified);
  if (found === value) return 15;
  const error = Math.abs(found - value) / (value === 0 ? 1 : Math.abs(value));
  // A result that is not a number agrees in nothing.
  return Number.isFinite(error) ? Math.max(0, Math.min(15, -Math.log10(error))) : 0;
}
