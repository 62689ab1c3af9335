/** A straight line through points of known uncertainty, by least squares about their weighted middle. */

export interface StraightLine {
  readonly gain: number;
  readonly offset: number;
  readonly gainVariance: number;
  readonly offsetVariance: number;
  readonly covariance: number;
  /** Sum of squares of the distances, each in units of its uncertainty. */
  readonly chiSquare: number;
}

/** @returns null when every x is the same */
export function straightLine(
  x: readonly number[],
  y: readonly number[],
  u: readonly number[],
): StraightLine | null {
  const points = x.map((at, n) => ({ x: at, y: y[n] ?? 0, w: 1 / (u[n] ?? 1) ** 2 }));
  const sum = (of: (point: (typeof points)[number]) => number) =>
    points.reduce((total, point) => total + point.w * of(point), 0);
  const weight = sum(() => 1);
  const middleX = sum((point) => point.x) / weight;
  const middleY = sum((point) => point.y) / weight;
  const spread = sum((point) => (point.x - middleX) ** 2);
  if (spread === 0) return null;
  const gain = sum((point) => (point.x - middleX) * (point.y - middleY)) / spread;
  const offset = middleY - gain * middleX;
  return {
    gain,
    offset,
    gainVariance: 1 / spread,
    offsetVariance: 1 / weight + middleX ** 2 / spread,
    covariance: -middleX / spread,
    chiSquare: sum((point) => (point.y - offset - gain * point.x) ** 2),
  };
}
