import { describe, expect, it } from "vitest";
import { formatWallTime } from "../../src/clock/wall-time.ts";

describe("formatWallTime(epochMs, offsetMin)", () => {
  // Offsets as ISO 8601 writes them; the last is that of Nepal.
  it.each([
    [0, "2026-11-27T23:30:00.500+00:00"],
    [60, "2026-11-28T00:30:00.500+01:00"],
    [-210, "2026-11-27T20:00:00.500-03:30"],
    [345, "2026-11-28T05:15:00.500+05:45"],
  ])("writes the clock of a place %d minutes ahead of UTC", (offsetMin, written) => {
    const epochMs = Date.parse("2026-11-27T23:30:00.500Z");
    expect(formatWallTime(epochMs, offsetMin)).toBe(written);
    expect(Date.parse(written)).toBe(epochMs);
  });
});
