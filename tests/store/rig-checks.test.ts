/** Checks of rigs on disk: kept, found again, never taken for what they are not. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import {
  findRigChecks,
  keepRigCheck,
  nameOfCheck,
  type RigCheck,
} from "../../src/store/rig-checks.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-rig-checks-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const facts = { depth: "full", looks: [], quiet: [], contacts: [], deadMan: null } as const;
const check: RigCheck = {
  rig: "cabin-bench",
  board: "flasher-latch",
  rigSha256: "aa",
  controller: { serial: "0", firmware: "1.2.0" },
  at: "2026-05-01T09:00:00.000+00:00",
  run: "2026-05-01-090000-flasher-latch",
  fit: true,
  findings: [],
  facts,
};
const rig = { rig: "cabin-bench", board: "flasher-latch" };

describe("kept rig checks", () => {
  it("are found by rig and board, the newest first, and the newest full one apart", () => {
    keepRigCheck(folder, check);
    keepRigCheck(folder, {
      ...check,
      run: "2026-05-02-090000-flasher-latch",
      at: "2026-05-02T09:00:00.000+00:00",
      facts: { ...facts, depth: "quick" },
    });
    keepRigCheck(folder, { ...check, run: "other", rig: "wheelhouse" });
    const found = findRigChecks(folder, rig);
    expect(found.newest?.check.at).toMatch(/^2026-05-02/);
    expect(found.full?.check.at).toMatch(/^2026-05-01/);
    expect(found.unreadable).toEqual([]);
  });

  it("are none in a folder that is not there", () => {
    expect(findRigChecks(join(folder, "none"), rig)).toEqual({
      newest: null,
      full: null,
      unreadable: [],
    });
  });

  it("that cannot be read are told of, with what to do, and count for nothing", () => {
    writeFileSync(join(folder, "x.rig-check.json"), "{");
    writeFileSync(join(folder, "y.rig-check.json"), JSON.stringify({ ...check, format: "other" }));
    const found = findRigChecks(folder, rig);
    expect(found.newest).toBeNull();
    expect(found.unreadable).toHaveLength(2);
    expect(found.unreadable[0]).toMatch(/x\.rig-check\.json.*check the rig again/);
  });

  it("are named by their age and whether the rig file is the one that was checked", () => {
    keepRigCheck(folder, check);
    const { full } = findRigChecks(folder, rig);
    if (full === null) throw new Error("the check is there");
    const now = { wall: "2026-05-01T10:00:00.000+00:00", rigSha256: "aa" };
    expect(nameOfCheck(full, now)).toMatchObject({ ageMs: 3_600_000, sameRig: true, fit: true });
    expect(nameOfCheck(full, { ...now, rigSha256: "bb" }).sameRig).toBe(false);
    expect(full.id).toMatch(/^[0-9a-f]{12}$/);
  });
});
