/** Few rows that together have every column any row has. */

/** Bits of one row, 32 columns a word; rows are equally long. */
export type BitRow = Int32Array;

/** How often a cover is begun anew with other ties; the smallest is kept. */
const TRIES = 40;

/**
 * Greedy: the row with the most columns not covered yet, ties by chance; then rows the others make needless
 * are left out. Not the smallest cover there is, which is hard to find; usually near it.
 *
 * @param next chance, from 0 up to 1
 * @returns indices of rows, ascending
 */
export function smallCover(rows: readonly BitRow[], next: () => number): number[] {
  let best: number[] | null = null;
  for (let round = 0; round < TRIES; round++) {
    const cover = withoutNeedless(rows, greedyCover(rows, next));
    if (best === null || cover.length < best.length) best = cover;
  }
  return (best ?? []).sort((a, b) => a - b);
}

function greedyCover(rows: readonly BitRow[], next: () => number): number[] {
  const left = union(rows);
  const chosen: number[] = [];
  let open = [...rows.keys()];
  while (left.some((word) => word !== 0)) {
    const gains = open.map((row) => gain(rows[row] as BitRow, left));
    const most = Math.max(...gains);
    const ties = open.filter((_, at) => gains[at] === most);
    const pick = ties[Math.floor(next() * ties.length)] as number;
    chosen.push(pick);
    const taken = rows[pick] as BitRow;
    for (let word = 0; word < left.length; word++)
      left[word] = (left[word] as number) & ~(taken[word] as number);
    open = open.filter((row, at) => row !== pick && (gains[at] as number) > 0);
  }
  return chosen;
}

/** Drop each row, last chosen first, whose columns the rest has. */
function withoutNeedless(rows: readonly BitRow[], cover: readonly number[]): number[] {
  let kept = [...cover];
  const all = union(cover.map((row) => rows[row] as BitRow));
  for (const row of [...cover].sort((a, b) => bitCount(rows[a]) - bitCount(rows[b]))) {
    const without = kept.filter((other) => other !== row);
    const rest = union(without.map((other) => rows[other] as BitRow));
    if (without.length > 0 && rest.every((word, at) => word === all[at])) kept = without;
  }
  return kept;
}

function union(rows: readonly BitRow[]): Int32Array {
  const all = new Int32Array(rows[0]?.length ?? 0);
  for (const row of rows)
    for (let word = 0; word < all.length; word++)
      all[word] = (all[word] as number) | (row[word] as number);
  return all;
}

function gain(row: BitRow, left: Int32Array): number {
  let count = 0;
  for (let word = 0; word < left.length; word++)
    count += wordBits((row[word] as number) & (left[word] as number));
  return count;
}

export function bitCount(row: BitRow | undefined): number {
  let count = 0;
  for (const word of row ?? []) count += wordBits(word);
  return count;
}

/** Ones in a word. @source the usual halving sum of bits, common practice */
export function wordBits(word: number): number {
  let bits = word - ((word >>> 1) & 0x55555555);
  bits = (bits & 0x33333333) + ((bits >>> 2) & 0x33333333);
  return Math.imul((bits + (bits >>> 4)) & 0x0f0f0f0f, 0x01010101) >>> 24;
}
