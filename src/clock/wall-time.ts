/**
 * Wall time as records carry it: ISO 8601, milliseconds, UTC written as an offset.
 *
 * @param epochMs milliseconds since 1970-01-01T00:00:00Z
 * @example formatWallTime(0) // "1970-01-01T00:00:00.000+00:00"
 */
export function formatWallTime(epochMs: number): string {
  return new Date(epochMs).toISOString().replace("Z", "+00:00");
}
