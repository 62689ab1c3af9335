/** Numbers that look like chance and repeat with their seed. */

/**
 * @returns a function that gives the next number from 0 up to, not including, 1
 * @source mulberry32 by T. Ettinger, public domain (from memory); good enough to spread patterns
 */
export function chance(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}
