/** Numbers that look random and are the same for the same seed on every machine. */

const UINT32 = 4294967296;

/** One 32-bit mix of three whole numbers; every input bit reaches every output bit. */
export function hash32(a: number, b: number, c: number): number {
  let h = Math.imul(a ^ 0x9e3779b9, 0x85ebca6b) ^ Math.imul(b ^ 0xc2b2ae35, 0x27d4eb2f);
  h = Math.imul(h ^ (h >>> 15) ^ c, 0x2c1b3c6d);
  h = Math.imul(h ^ (h >>> 12), 0x297a2d39);
  return (h ^ (h >>> 15)) >>> 0;
}

/** Hash of a name, so that a part's spread does not depend on its place in the file. */
export function hashName(name: string): number {
  let h = 0;
  for (let index = 0; index < name.length; index += 1) h = hash32(h, name.charCodeAt(index), index);
  return h;
}

/** Even in 0..1, 1 excluded, for one seed, one name and one purpose. */
function unitFor(seed: number, name: string, purpose: string): number {
  return hash32(seed, hashName(name), hashName(purpose)) / UINT32;
}

/**
 * A factor spread evenly over 1 - fraction .. 1 + fraction.
 *
 * @param fraction 0 gives exactly 1
 */
export function spreadFactor(
  fraction: number,
  key: { readonly seed: number; readonly name: string; readonly purpose: string },
): number {
  return 1 + fraction * (2 * unitFor(key.seed, key.name, key.purpose) - 1);
}

const NORMAL_COUNT = 4096;

/** 4096 samples of a normal distribution with mean 0 and deviation 1, to be picked by hash. */
export function normalTable(seed: number): Float64Array {
  const table = new Float64Array(NORMAL_COUNT);
  for (let index = 0; index < NORMAL_COUNT; index += 1) {
    const u = (hash32(seed, index, 1) + 1) / (UINT32 + 1);
    const v = hash32(seed, index, 2) / UINT32;
    // Box and Muller's way: exact, and this table is made once.
    table[index] = Math.sqrt(-2 * Math.log(u)) * Math.cos(2 * Math.PI * v);
  }
  return table;
}

/** Entry of a normal table chosen by two whole numbers. */
export function pickNormal(table: Float64Array, a: number, b: number): number {
  return table[hash32(a, b, 0x5bd1e995) % NORMAL_COUNT] as number;
}
