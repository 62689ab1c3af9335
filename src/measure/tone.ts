/** How much of a train of samples has one frequency. */

/**
 * Part of the variance that a sine of this frequency makes up, by least squares over whole periods.
 *
 * @param samples  at one interval; as many as fill whole periods
 * @param perCycle samples in one period
 * @returns 0..1; 0 for samples that do not move
 */
export function tonePart(samples: readonly number[], perCycle: number): number {
  const mean = samples.reduce((sum, one) => sum + one, 0) / samples.length;
  let [cosine, sine, all] = [0, 0, 0];
  for (const [at, sample] of samples.entries()) {
    const angle = (2 * Math.PI * at) / perCycle;
    cosine += (sample - mean) * Math.cos(angle);
    sine += (sample - mean) * Math.sin(angle);
    all += (sample - mean) ** 2;
  }
  if (all === 0) return 0;
  return Math.min(1, (2 * (cosine ** 2 + sine ** 2)) / (samples.length * all));
}

/**
 * Mean square of the differences from one sample to the next over the variance: 2 for samples that know
 * nothing of each other (von Neumann 1941, from memory), towards 0 the slower what moves them.
 *
 * @returns 0 for samples that do not move
 */
export function restlessness(samples: readonly number[]): number {
  const mean = samples.reduce((sum, one) => sum + one, 0) / samples.length;
  const variance = samples.reduce((sum, one) => sum + (one - mean) ** 2, 0) / samples.length;
  if (variance === 0) return 0;
  const steps = samples.slice(1).reduce((sum, one, at) => sum + (one - (samples[at] ?? 0)) ** 2, 0);
  return steps / (samples.length - 1) / variance;
}
