/** Patterns of a circuit's inputs, 32 a word. */

export interface PatternSet {
  readonly count: number;
  /** Of each input, in order: pattern p is bit p % 32 of word floor(p / 32). */
  readonly words: readonly Int32Array[];
}

/**
 * Patterns from text, one of `0` and `1` an input.
 *
 * @throws RangeError naming the pattern that has another length or another sign than these
 */
export function patternSet(rows: readonly string[]): PatternSet {
  const inputCount = rows[0]?.length ?? 0;
  const words = Array.from(
    { length: inputCount },
    () => new Int32Array(Math.ceil(rows.length / 32)),
  );
  for (const [pattern, row] of rows.entries()) {
    if (row.length !== inputCount || !/^[01]*$/.test(row)) {
      throw new RangeError(
        `pattern ${pattern} is ${row}: expected ${inputCount} of 0 and 1, as in the first`,
      );
    }
    for (const [index, input] of words.entries()) {
      if (row[index] === "1") input[pattern >> 5] = (input[pattern >> 5] ?? 0) | (1 << pattern);
    }
  }
  return { count: rows.length, words };
}
