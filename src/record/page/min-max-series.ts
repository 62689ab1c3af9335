/**
 * A curve of any length in bounded memory: time is cut into columns of one width, and of each column
 * the lowest and the highest value are kept, so that no excursion is lost. When the columns do not
 * reach any more, two become one and each is twice as wide.
 */

/** One column of a curve that held a value. */
export interface CurveColumn {
  /** First and last moment seen in it, ms. */
  readonly fromMs: number;
  readonly toMs: number;
  readonly low: number;
  readonly high: number;
}

/** About as many as a chart has pixels across. */
const COLUMNS_MAX = 480;

interface Column {
  index: number;
  fromMs: number;
  toMs: number;
  low: number;
  high: number;
}

export class MinMaxSeries {
  #columns: Column[] = [];
  #widthMs = 1;
  #count = 0;

  /** Values taken. */
  get count(): number {
    return this.#count;
  }

  /** Width of a column, ms; 1 until there was more than could be kept one by one. */
  get widthMs(): number {
    return this.#widthMs;
  }

  /** @param ms not before the one before it */
  take(ms: number, value: number): void {
    this.takeSpan(ms, { low: value, high: value });
  }

  takeSpan(ms: number, { low, high }: { readonly low: number; readonly high: number }): void {
    this.#count += 1;
    const index = Math.floor(ms / this.#widthMs);
    const last = this.#columns.at(-1);
    if (last !== undefined && last.index >= index) {
      last.toMs = Math.max(last.toMs, ms);
      last.low = Math.min(last.low, low);
      last.high = Math.max(last.high, high);
      return;
    }
    this.#columns.push({ index, fromMs: ms, toMs: ms, low, high });
    while (this.#columns.length > COLUMNS_MAX) this.#halve();
  }

  columns(): readonly CurveColumn[] {
    return this.#columns;
  }

  /** Pairs until one is found at least: sparse columns may need more than one doubling. */
  #halve(): void {
    this.#widthMs *= 2;
    const halved: Column[] = [];
    for (const column of this.#columns) {
      const index = Math.floor(column.fromMs / this.#widthMs);
      const last = halved.at(-1);
      if (last?.index === index) {
        last.toMs = column.toMs;
        last.low = Math.min(last.low, column.low);
        last.high = Math.max(last.high, column.high);
      } else {
        halved.push({ ...column, index });
      }
    }
    this.#columns = halved;
  }
}
