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
