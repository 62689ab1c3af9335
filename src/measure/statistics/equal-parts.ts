/** Values with weights, cut into a few parts of about equal weight, so that each part has its fair chance. */

export interface Weighted {
  readonly value: number;
  /** Above zero. */
  readonly weight: number;
}

export interface EqualParts {
  /** Where one part ends and the next begins, rising; one fewer than parts. */
  readonly edges: readonly number[];
  /** Of each part. */
  readonly weights: readonly number[];
}

/** @param parts how many at most; fewer where many values are alike */
export function equalParts(values: readonly Weighted[], parts: number): EqualParts {
  const sorted = [...values].sort((a, b) => a.value - b.value);
  const whole = sorted.reduce((sum, { weight }) => sum + weight, 0);
  const edges: number[] = [];
  const weights: number[] = [];
  let [within, before] = [0, 0];
  for (const [at, { value, weight }] of sorted.entries()) {
    within += weight;
    const next = sorted[at + 1];
    if (next === undefined || next.value === value) continue;
    // A part ends where taking the next value in would overshoot by more than stopping falls short.
    const full = (whole * (edges.length + 1)) / parts;
    if (before + within + next.weight / 2 < full || edges.length + 1 >= parts) continue;
    edges.push((value + next.value) / 2);
    weights.push(within);
    before += within;
    within = 0;
  }
  return { edges, weights: [...weights, within] };
}

/** The part that a value falls into, from 0. */
export function partOf(edges: readonly number[], value: number): number {
  const at = edges.findIndex((edge) => value < edge);
  return at === -1 ? edges.length : at;
}
