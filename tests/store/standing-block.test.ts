import { mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import {
  clearStandingBlock,
  raiseStandingBlock,
  readStandingBlock,
  refuseWhileBlocked,
  standingBlockPath,
} from "../../src/store/standing-block.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-block-"));
});
afterEach(() => rmSync(folder, { recursive: true }));

const block = {
  rig: "cabin-bench",
  run: "flasher-latch-1",
  wall: "2026-01-01T09:00:00.000+00:00",
  reason: "plate lead lost after: trip",
};

describe("a standing block", () => {
  it("stands until it is cleared, for its own rig only", () => {
    expect(readStandingBlock(folder, "cabin-bench")).toBeNull();
    raiseStandingBlock(folder, block);
    expect(readStandingBlock(folder, "cabin-bench")).toEqual(block);
    expect(readStandingBlock(folder, "other-bench")).toBeNull();
    clearStandingBlock(folder, "cabin-bench");
    expect(readStandingBlock(folder, "cabin-bench")).toBeNull();
    expect(readdirSync(folder)).toEqual([]);
  });

  it("refuses with who left what, and what to do", () => {
    raiseStandingBlock(folder, block);
    expect(() => refuseWhileBlocked(folder, "cabin-bench")).toThrow(
      /run flasher-latch-1 .* plate lead lost .* Measure every rail by hand/s,
    );
    expect(() => refuseWhileBlocked(folder, "other-bench")).not.toThrow();
  });

  it("is replaced by a newer one as a whole", () => {
    raiseStandingBlock(folder, block);
    raiseStandingBlock(folder, { ...block, reason: "energised, and not yet proved off" });
    expect(readStandingBlock(folder, "cabin-bench")?.reason).toBe(
      "energised, and not yet proved off",
    );
  });

  it.each([
    "",
    "{",
    "null",
    '{"format":"other"}',
    '{"format":"holdfast-standing-block","version":1}',
  ])("blocks all the same when its file holds %j", (text) => {
    writeFileSync(standingBlockPath(folder, "cabin-bench"), text);
    expect(() => refuseWhileBlocked(folder, "cabin-bench")).toThrow(
      /blocks energising all the same/s,
    );
  });

  it("keeps a rig's name from leaving the folder", () => {
    raiseStandingBlock(folder, { ...block, rig: "../../etc/rig" });
    expect(readdirSync(folder)).toHaveLength(1);
    expect(readStandingBlock(folder, "../../etc/rig")?.rig).toBe("../../etc/rig");
  });

  it("says so when it cannot be written", () => {
    const file = join(folder, "file");
    writeFileSync(file, "");
    expect(() => raiseStandingBlock(join(file, "runs"), block)).toThrow(/writing failed/);
  });

  it("clears without complaint where nothing stands", () => {
    expect(() => clearStandingBlock(join(folder, "none"), "cabin-bench")).not.toThrow();
  });
});
