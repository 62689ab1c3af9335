/**
 * Least squares by Householder reflections: the orthogonal way, which keeps about twice the digits of
 * the normal equations where columns are nearly in line (Golub and Van Loan, Matrix Computations, 5.2-5.3).
 */

/** A square matrix by rows. */
export type Matrix = readonly (readonly number[])[];

export interface LeastSquares {
  /** What makes the sum of squares of `columns * solution - target` least. */
  readonly solution: readonly number[];
  /** Inverse of (columns' * columns): times the variance of one target value, the covariance. */
  readonly cofactors: Matrix;
  /** Sum of squares of the target that the columns account for, and the sum that is left. */
  readonly explainedSquares: number;
  readonly residualSquares: number;
}

/** A column that stands out of the others by less than this part of its length is none of its own. */
const RANK_TOLERANCE = 1e-13;

/**
 * @param columns   one array for each unknown, each as long as `target`
 * @param tolerance how exactly the columns are known, as a part of their length
 * @returns null when the columns do not tell the unknowns apart
 * @throws RangeError when there are fewer rows than unknowns, or lengths differ
 */
export function leastSquares(
  columns: readonly (readonly number[])[],
  target: readonly number[],
  tolerance = RANK_TOLERANCE,
): LeastSquares | null {
  const rows = target.length;
  const unknowns = columns.length;
  if (unknowns === 0 || rows < unknowns || columns.some(({ length }) => length !== rows)) {
    throw new RangeError(
      `Least squares of ${unknowns} unknowns needs as many rows or more, got ${rows}.`,
    );
  }
  const lengths = columns.map((column) => Math.hypot(...column));
  if (lengths.some((length) => !(length > 0))) return null;
  // Columns of one length, so that a rank is seen whatever their units are.
  const work = columns.map((column, j) => Float64Array.from(column, (x) => x / at(lengths, j)));
  const image = Float64Array.from(target);
  const diagonal: number[] = [];
  for (let j = 0; j < unknowns; j += 1) {
    const pivot = reflect(work, image, j);
    if (Math.abs(pivot) < tolerance) return null;
    diagonal.push(pivot);
  }
  const inverse = invertUpper(work, diagonal);
  const unscaled = (i: number, value: number): number => value / at(lengths, i);
  const solution = inverse.map((row, i) =>
    unscaled(
      i,
      row.reduce((sum, factor, j) => sum + factor * at(image, j), 0),
    ),
  );
  const cofactors = inverse.map((row, i) =>
    inverse.map((other, k) =>
      unscaled(
        i,
        unscaled(
          k,
          row.reduce((sum, factor, j) => sum + factor * at(other, j), 0),
        ),
      ),
    ),
  );
  const squares = (part: Float64Array): number => part.reduce((sum, x) => sum + x * x, 0);
  return {
    solution,
    cofactors,
    explainedSquares: squares(image.subarray(0, unknowns)),
    residualSquares: squares(image.subarray(unknowns)),
  };
}

/**
 * Turn column j, from row j on, onto its axis, and everything right of it along.
 *
 * @returns the element left on the diagonal
 */
function reflect(work: readonly Float64Array[], image: Float64Array, j: number): number {
  const column = work[j];
  if (column === undefined) throw new RangeError(`No column ${j}.`);
  const length = Math.hypot(...column.subarray(j));
  if (length === 0) return 0;
  const head = at(column, j);
  const pivot = head > 0 ? -length : length;
  const axis = column.slice(j);
  axis[0] = head - pivot;
  const half = -pivot * at(axis, 0);
  for (const turned of [...work.slice(j + 1), image]) {
    const part = turned.subarray(j);
    const along = part.reduce((sum, x, i) => sum + x * at(axis, i), 0) / half;
    part.forEach((x, i) => {
      part[i] = x - along * at(axis, i);
    });
  }
  return pivot;
}

/** Inverse of the upper triangle that the reflections leave: diagonal apart, the rest in the columns. */
function invertUpper(work: readonly Float64Array[], diagonal: readonly number[]): number[][] {
  const size = diagonal.length;
  const inverse = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  for (let j = 0; j < size; j += 1) {
    for (let i = j; i >= 0; i -= 1) {
      let value = i === j ? 1 : 0;
      for (let k = i + 1; k <= j; k += 1) value -= at(work[k], i) * at(inverse[k], j);
      const row = inverse[i];
      if (row !== undefined) row[j] = value / at(diagonal, i);
    }
  }
  return inverse;
}

/** An element that is there by construction. */
function at(values: ArrayLike<number> | undefined, index: number): number {
  const value = values?.[index];
  if (value === undefined) throw new RangeError(`No element ${index}.`);
  return value;
}
