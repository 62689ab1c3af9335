/** Printed reference values as they are compared. */

/** Decimals of a printed number, so that a result is compared as it was printed. */
export function decimalsOf(printed: string): number {
  return printed.split(".")[1]?.length ?? 0;
}
