import { describe, expect, it } from "vitest";
import { controllerRemarks } from "../../../src/commands/prove/controller-remarks.ts";
import { latchPlan } from "../../run/latch-plan.ts";

const calibration = {
  date: "2026-05-01T10:00:00.000+00:00",
  expires: "2027-05-01",
  id: "0123456789ab",
  meter: "hand meter",
};
const kept = (calibratedOn: string | null) =>
  ({ state: "kept", rig: "cabin-bench", calibratedOn }) as const;

describe("what a controller keeps of its calibration", () => {
  it("says nothing where it agrees with the file, or is not there", () => {
    expect(controllerRemarks(kept("2026-05-01"), latchPlan({ calibration }))).toEqual([]);
    expect(controllerRemarks(kept(null), latchPlan({ calibration }))).toEqual([]);
    expect(controllerRemarks({ state: "none" }, latchPlan({ calibration }))).toEqual([]);
  });

  it("says both days where they differ, and that no file counts where none does", () => {
    expect(controllerRemarks(kept("2026-06-01"), latchPlan({ calibration }))[0]).toMatch(
      /keeps a calibration of 2026-06-01, but the files have that of 2026-05-01/,
    );
    expect(controllerRemarks(kept("2026-06-01"), latchPlan())[0]).toContain(
      "no calibration counts by the files",
    );
  });
});
