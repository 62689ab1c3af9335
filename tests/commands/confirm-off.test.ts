import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { confirmOffCommand } from "../../src/commands/confirm-off.ts";
import {
  raiseStandingBlock,
  readStandingBlock,
  standingBlockPath,
} from "../../src/store/standing-block.ts";

const off = ["heater=0", "bias=-0.4", "plate=1.2"];
let runs = "";

beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "holdfast-confirm-"));
  vi.spyOn(process.stdout, "write").mockReturnValue(true);
  raiseStandingBlock(runs, {
    rig: "cabin-bench",
    run: "run-0001",
    wall: "2026-05-01T08:00:00.000+00:00",
    reason: "plate unproved",
  });
});

afterEach(() => {
  vi.restoreAllMocks();
  rmSync(runs, { recursive: true });
});

describe("holdfast confirm-off", () => {
  it("clears the block and keeps who measured what", () => {
    expect(confirmOffCommand("cabin-bench", { by: "MK", volts: off, runs })).toBe(0);
    expect(readStandingBlock(runs, "cabin-bench")).toBeNull();
    const kept = JSON.parse(readFileSync(join(runs, "confirmed-off.ndjson"), "utf8"));
    expect(kept).toMatchObject({
      rig: "cabin-bench",
      by: "MK",
      volts: { heater: 0, bias: -0.4, plate: 1.2 },
      cleared: expect.stringContaining("plate unproved"),
    });
  });

  it.each([
    ["a rail is missing", ["heater=0", "plate=0"], "missing bias"],
    ["a rail is still live", ["heater=0", "bias=0", "plate=31.5"], "plate 31.5 V: still live"],
    ["a rail is still live below common", ["heater=0", "bias=-24", "plate=0"], "bias -24 V"],
    ["volts are no number", ["heater=off", "bias=0", "plate=0"], 'got "heater=off"'],
    ["a rail is unknown", ["screen=0"], 'got "screen=0"'],
  ])("leaves the block when %s", (_, volts, said) => {
    expect(() => confirmOffCommand("cabin-bench", { by: "MK", volts, runs })).toThrow(said);
    expect(readStandingBlock(runs, "cabin-bench")).not.toBeNull();
  });

  it("leaves the block without initials", () => {
    const anonymous = () => confirmOffCommand("cabin-bench", { by: "  ", volts: off, runs });
    expect(anonymous).toThrow("--by as initials");
    expect(readStandingBlock(runs, "cabin-bench")).not.toBeNull();
  });

  it("clears a note that cannot be read, since it blocks too", () => {
    writeFileSync(standingBlockPath(runs, "cabin-bench"), "{");
    expect(confirmOffCommand("cabin-bench", { by: "MK", volts: off, runs })).toBe(0);
    expect(readStandingBlock(runs, "cabin-bench")).toBeNull();
  });

  it("has nothing to do for another rig", () => {
    expect(confirmOffCommand("other-bench", { by: "MK", volts: off, runs })).toBe(0);
    expect(readStandingBlock(runs, "cabin-bench")).not.toBeNull();
  });
});
