/**
 * Least squares with prior knowledge, one value after the other, by its innovations: what each new value
 * is off from what the ones before it foretold, in units of what that forecast is good for.
 *
 * For a level that only follows its columns the innovations are independent standard normal values,
 * however little was known at first. So they can be charted; and the slope that a line in time has among
 * them is the slope least squares would find with the line as one more column.
 *
 * @source R. L. Brown, J. Durbin and J. M. Evans, Techniques for testing the constancy of regression
 *   relationships over time, Journal of the Royal Statistical Society B 37 (1975), 149-192. Prior
 *   knowledge enters as the covariance at the start.
 */

export interface Followed {
  /** By row, in units of the noise of one value. */
  readonly innovations: Float64Array;
  /** As they stand after the last row. */
  readonly coefficients: Float64Array;
}

export class RecursiveFit {
  readonly #rows: number;
  readonly #size: number;
  readonly #columns: readonly Float64Array[];
  /** By row: what takes a miss to the coefficients. */
  readonly #gain: Float64Array;
  /** By row: 1 / standard deviation of the forecast's miss, in units of the noise. */
  readonly #weight: Float64Array;
  /** Of the coefficients after the last row, by rows, in units of the noise squared. */
  readonly covariance: Float64Array;

  /**
   * @param columns    one array for each coefficient, all of one length; a level's own is all 1
   * @param covariance of the coefficients before the first row, by rows, in units of the noise squared
   */
  constructor(columns: readonly Float64Array[], covariance: Float64Array) {
    this.#size = columns.length;
    this.#rows = columns[0]?.length ?? 0;
    this.#columns = columns;
    this.#gain = new Float64Array(this.#rows * this.#size);
    this.#weight = new Float64Array(this.#rows);
    this.covariance = covariance.slice();
    const spread = new Float64Array(this.#size);
    for (let row = 0; row < this.#rows; row += 1) this.#take(row, spread);
  }

  #take(row: number, spread: Float64Array): void {
    const size = this.#size;
    const { covariance } = this;
    let variance = 1;
    for (let i = 0; i < size; i += 1) {
      let sum = 0;
      for (let j = 0; j < size; j += 1) {
        sum += (covariance[i * size + j] as number) * this.#x(row, j);
      }
      spread[i] = sum;
      variance += sum * this.#x(row, i);
    }
    for (let i = 0; i < size; i += 1) {
      const gain = (spread[i] as number) / variance;
      this.#gain[row * size + i] = gain;
      for (let j = 0; j < size; j += 1) {
        const at = i * size + j;
        covariance[at] = (covariance[at] as number) - gain * (spread[j] as number);
      }
    }
    this.#weight[row] = 1 / Math.sqrt(variance);
  }

  #x(row: number, column: number): number {
    return (this.#columns[column] as Float64Array)[row] as number;
  }

  /** @param values by row, in units of the noise of one value, less what was expected beforehand */
  follow(values: Float64Array): Followed {
    const size = this.#size;
    const coefficients = new Float64Array(size);
    const innovations = new Float64Array(this.#rows);
    for (let row = 0; row < this.#rows; row += 1) {
      let miss = values[row] as number;
      for (let i = 0; i < size; i += 1) miss -= (coefficients[i] as number) * this.#x(row, i);
      innovations[row] = miss * (this.#weight[row] as number);
      for (let i = 0; i < size; i += 1) {
        const gain = this.#gain[row * size + i] as number;
        coefficients[i] = (coefficients[i] as number) + miss * gain;
      }
    }
    return { innovations, coefficients };
  }
}
