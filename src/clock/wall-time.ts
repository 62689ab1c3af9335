const MINUTE_MS = 60_000;

/**
 * Wall time as records carry it: ISO 8601, milliseconds, with its offset from UTC.
 *
 * @param epochMs milliseconds since 1970-01-01T00:00:00Z
 * @param offsetMin of that place's clocks then, minutes ahead of UTC
 * @example formatWallTime(0) // "1970-01-01T00:00:00.000+00:00"
 * @example formatWallTime(0, 120) // "1970-01-01T02:00:00.000+02:00"
 */
export function formatWallTime(epochMs: number, offsetMin = 0): string {
  const there = new Date(epochMs + offsetMin * MINUTE_MS).toISOString();
  const min = Math.abs(offsetMin);
  const parts = [Math.floor(min / 60), min % 60].map((part) => String(part).padStart(2, "0"));
  return there.replace("Z", `${offsetMin < 0 ? "-" : "+"}${parts.join(":")}`);
}
