import { describe, expect, it } from "vitest";
import { exitStatusOf } from "../../src/commands/exit-status.ts";
import type { EndCause } from "../../src/events/events.ts";
import type { Verdict } from "../../src/events/levels.ts";

describe("exitStatusOf(end)", () => {
  it.each<[Verdict, EndCause, boolean, number]>([
    ["pass", "completed", true, 0],
    ["conditional pass", "completed", true, 0],
    ["fail", "first fail", true, 1],
    ["fail", "not warm", true, 1],
    ["conditional fail", "completed", true, 1],
    ["not tested", "completed", true, 1],
    ["void", "completed", true, 3],
    ["void", "link lost", true, 3],
    ["void", "supply refused", true, 3],
    ["not tested", "trip", true, 3],
    ["not tested", "stopped by the person", true, 4],
    ["not tested", "signal", true, 4],
    ["void", "signal", true, 4],
    ["pass", "completed", false, 3],
    ["not tested", "stopped by the person", false, 3],
    ["fail", "first fail", false, 3],
    ["fail", "internal fault", true, 3],
    ["not tested", "journal fault", true, 3],
  ])("%s after %s, proved off %s, leaves %i", (verdict, cause, allProvedOff, status) => {
    expect(exitStatusOf({ verdict, cause, allProvedOff })).toBe(status);
  });
});
