/**
 * What SRAM holds after power comes on: anything. Seeded, so that a run can be repeated.
 *
 * @param seed any integer
 * @returns a generator of bytes, 0..255 (a 32-bit linear congruential generator, its top byte)
 */
export function sramNoise(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state >>> 24;
  };
}
