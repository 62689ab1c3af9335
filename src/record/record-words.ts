/** Words that several parts of a record share. */

export function seconds(ms: number): string {
  return `${(ms / 1000).toFixed(1)} s`;
}
