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
  /** By row, then by column. */
  readonly #x: Float64Array;
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
    this.#x = byRows(columns);
    this.#gain = new Float64Array(this.#rows * this.#size);
    this.#weight = new Float64Array(this.#rows);
    this.covariance = covariance.slice();
    this.#takeRows();
  }

  #takeRows(): void {
    const size = this.#size;
    const [x, gains, weights] = [this.#x, this.#gain, this.#weight];
    const { covariance } = this;
    const spread = new Float64Array(size);
    for (let row = 0; row < this.#rows; row += 1) {
      const begin = row * size;
      let variance = 1;
      for (let i = 0; i < size; i += 1) {
        const ofRow = i * size;
        let sum = 0;
        for (let j = 0; j < size; j += 1) {
          sum += (covariance[ofRow + j] as number) * (x[begin + j] as number);
        }
        spread[i] = sum;
        variance += sum * (x[begin + i] as number);
      }
      for (let i = 0; i < size; i += 1) {
        const gain = (spread[i] as number) / variance;
        gains[begin + i] = gain;
        const ofRow = i * size;
        for (let j = 0; j < size; j += 1) {
          const at = ofRow + j;
          covariance[at] = (covariance[at] as number) - gain * (spread[j] as number);
        }
      }
      weights[row] = 1 / Math.sqrt(variance);
    }
  }

  /** @param values by row, in units of the noise of one value, less what was expected beforehand */
  follow(values: Float64Array): Followed {
    const size = this.#size;
    const [x, gains, weights] = [this.#x, this.#gain, this.#weight];
    const coefficients = new Float64Array(size);
    const innovations = new Float64Array(this.#rows);
    for (let row = 0; row < innovations.length; row += 1) {
      const begin = row * size;
      let miss = values[row] as number;
      for (let i = 0; i < size; i += 1) {
        miss -= (coefficients[i] as number) * (x[begin + i] as number);
      }
      innovations[row] = miss * (weights[row] as number);
      for (let i = 0; i < size; i += 1) {
        coefficients[i] = (coefficients[i] as number) + miss * (gains[begin + i] as number);
      }
    }
    return { innovations, coefficients };
  }
}

function byRows(columns: readonly Float64Array[]): Float64Array {
  const size = columns.length;
  const x = new Float64Array(size * (columns[0]?.length ?? 0));
  for (const [i, column] of columns.entries()) {
    for (let row = 0; row < column.length; row += 1) x[row * size + i] = column[row] as number;
  }
  return x;
}
