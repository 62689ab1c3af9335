/** Points joined by resistors and fed from sources: their volts, by node equations. */

/** Wiring lets something through to common: a point on nothing at all is at no volts. */
const STRAY_SIEMENS = 1e-12;

export class ResistorNet {
  readonly #index: ReadonlyMap<string, number>;
  /** Conductances, row by row. */
  readonly #matrix: Float64Array;
  readonly #amperes: Float64Array;

  constructor(points: readonly string[]) {
    this.#index = new Map(points.map((point, at) => [point, at]));
    this.#matrix = new Float64Array(points.length ** 2);
    this.#amperes = new Float64Array(points.length);
    for (let at = 0; at < points.length; at += 1) {
      this.#matrix[at * points.length + at] = STRAY_SIEMENS;
    }
  }

  /** A source of volts to common behind so many ohms. A point that is not solved for is passed over. */
  feed(point: string, volts: number, ohm: number): void {
    const at = this.#index.get(point);
    if (at === undefined) return;
    this.#add(at, at, 1 / ohm);
    this.#amperes[at] = (this.#amperes[at] ?? 0) + volts / ohm;
  }

  join(one: string, other: string, ohm: number): void {
    const [a, b] = [this.#index.get(one), this.#index.get(other)];
    if (a === undefined || b === undefined) return;
    this.#add(a, a, 1 / ohm);
    this.#add(b, b, 1 / ohm);
    this.#add(a, b, -1 / ohm);
    this.#add(b, a, -1 / ohm);
  }

  /** Elimination without pivots: every row is led by its diagonal. The net is used up by it. */
  solve(): Map<string, number> {
    const size = this.#amperes.length;
    const matrix = this.#matrix;
    const right = this.#amperes;
    const cell = (row: number, column: number): number => matrix[row * size + column] as number;
    for (let pivot = 0; pivot < size; pivot += 1) {
      for (let row = pivot + 1; row < size; row += 1) {
        const share = cell(row, pivot) / cell(pivot, pivot);
        if (share === 0) continue;
        for (let column = pivot; column < size; column += 1) {
          matrix[row * size + column] = cell(row, column) - share * cell(pivot, column);
        }
        right[row] = (right[row] as number) - share * (right[pivot] as number);
      }
    }
    const volts = new Float64Array(size);
    for (let row = size - 1; row >= 0; row -= 1) {
      let rest = right[row] as number;
      for (let column = row + 1; column < size; column += 1) {
        rest -= cell(row, column) * (volts[column] as number);
      }
      volts[row] = rest / cell(row, row);
    }
    return new Map([...this.#index].map(([point, at]) => [point, volts[at] as number]));
  }

  #add(row: number, column: number, siemens: number): void {
    const at = row * this.#amperes.length + column;
    this.#matrix[at] = (this.#matrix[at] ?? 0) + siemens;
  }
}
