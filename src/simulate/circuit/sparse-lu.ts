/**
 * LU of a matrix whose places are known beforehand. The places and the order of elimination are
 * worked out once; a factorisation is then a walk through a flat list, with nothing allocated.
 *
 * No pivoting: node equations of this kind are near enough to diagonal, and the sign of the pivots
 * in a fixed order tells whether a step is too long for an unstable state (see transient.ts).
 */

/** Outcome of a factorisation: the sign of the determinant, 0 when a pivot vanished. */
export type DeterminantSign = -1 | 0 | 1;

const PIVOT_MIN = 1e-18;

export class SparseLu {
  readonly size: number;
  /** Number of places; place `spare` beyond them may be written and is never read. */
  readonly spare: number;
  readonly #slots: Map<number, number>;
  /** pivot row, place of pivot, rows below; then per row: row, place, pairs; then the pairs. */
  readonly #program: Int32Array;
  /** row, place of pivot, count, then column and place. Last pivot first. */
  readonly #back: Int32Array;

  /** @param places row and column of every place that can be other than 0 */
  constructor(size: number, places: readonly (readonly [number, number])[]) {
    this.size = size;
    const rows = Array.from({ length: size }, (_, row) => new Set<number>([row]));
    for (const [row, column] of places) {
      if (row >= size || column >= size) continue;
      rows[row]?.add(column);
      rows[column]?.add(row);
    }
    const order = eliminate(rows);
    this.#slots = new Map();
    rows.forEach((columns, row) => {
      for (const column of columns) this.#slots.set(row * size + column, this.#slots.size);
    });
    this.spare = this.#slots.size;
    const rank = new Int32Array(size);
    order.forEach((row, index) => {
      rank[row] = index;
    });
    const later = order.map((row) =>
      [...(rows[row] ?? [])].filter((other) => (rank[other] ?? 0) > (rank[row] ?? 0)),
    );
    this.#program = this.#forwardProgram(order, later);
    this.#back = this.#backProgram(order, later);
  }

  /** Place of row and column in the value array; the spare place when either is beyond the matrix. */
  slot(row: number, column: number): number {
    if (row >= this.size || column >= this.size) return this.spare;
    const slot = this.#slots.get(row * this.size + column);
    if (slot === undefined)
      throw new RangeError(`No place was kept for row ${row}, column ${column}.`);
    return slot;
  }

  /** Factor in place. */
  factor(values: Float64Array): DeterminantSign {
    const program = this.#program;
    let sign: DeterminantSign = 1;
    let at = 0;
    while (at < program.length) {
      const pivot = values[program[at + 1] as number] as number;
      const rowCount = program[at + 2] as number;
      at += 3;
      if (Math.abs(pivot) < PIVOT_MIN) return 0;
      if (pivot < 0) sign = -sign as DeterminantSign;
      const inverse = 1 / pivot;
      for (let row = 0; row < rowCount; row += 1) {
        const place = program[at + 1] as number;
        const pairs = program[at + 2] as number;
        at += 3;
        const factor = (values[place] as number) * inverse;
        values[place] = factor;
        for (let pair = 0; pair < pairs; pair += 1) {
          const into = program[at] as number;
          values[into] =
            (values[into] as number) - factor * (values[program[at + 1] as number] as number);
          at += 2;
        }
      }
    }
    return sign;
  }

  /** Solve in place with the values as `factor` left them. */
  solve(values: Float64Array, right: Float64Array): void {
    const program = this.#program;
    for (let at = 0; at < program.length; ) {
      const known = right[program[at] as number] as number;
      const rowCount = program[at + 2] as number;
      at += 3;
      for (let row = 0; row < rowCount; row += 1) {
        const target = program[at] as number;
        right[target] =
          (right[target] as number) - (values[program[at + 1] as number] as number) * known;
        at += 3 + 2 * (program[at + 2] as number);
      }
    }
    const back = this.#back;
    for (let at = 0; at < back.length; ) {
      const row = back[at] as number;
      const place = back[at + 1] as number;
      const count = back[at + 2] as number;
      at += 3;
      let sum = right[row] as number;
      for (let index = 0; index < count; index += 1) {
        sum -= (values[back[at + 1] as number] as number) * (right[back[at] as number] as number);
        at += 2;
      }
      right[row] = sum / (values[place] as number);
    }
  }

  #forwardProgram(order: readonly number[], later: readonly (readonly number[])[]): Int32Array {
    const program: number[] = [];
    order.forEach((row, index) => {
      const below = later[index] ?? [];
      program.push(row, this.slot(row, row), below.length);
      for (const target of below) {
        program.push(target, this.slot(target, row), below.length);
        for (const column of below) program.push(this.slot(target, column), this.slot(row, column));
      }
    });
    return Int32Array.from(program);
  }

  #backProgram(order: readonly number[], later: readonly (readonly number[])[]): Int32Array {
    const program: number[] = [];
    for (let index = order.length - 1; index >= 0; index -= 1) {
      const row = order[index] ?? 0;
      const columns = later[index] ?? [];
      program.push(row, this.slot(row, row), columns.length);
      for (const column of columns) program.push(column, this.slot(row, column));
    }
    return Int32Array.from(program);
  }
}

/** Order of fewest neighbours first, and the places that fill up on the way, added to `rows`. */
function eliminate(rows: readonly Set<number>[]): number[] {
  const open = new Set(rows.keys());
  const order: number[] = [];
  while (open.size > 0) {
    let best = -1;
    let fewest = Number.POSITIVE_INFINITY;
    for (const row of open) {
      const count = [...(rows[row] ?? [])].filter((other) => open.has(other)).length;
      if (count < fewest) [best, fewest] = [row, count];
    }
    const neighbours = [...(rows[best] ?? [])].filter((other) => other !== best && open.has(other));
    for (const one of neighbours) for (const other of neighbours) rows[one]?.add(other);
    open.delete(best);
    order.push(best);
  }
  return order;
}
