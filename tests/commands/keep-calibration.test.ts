/** What goes into the controller is the new calibration alone, and a file is never written over. */
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import type { KeptCalibration } from "../../src/bench/kept-calibration.ts";
import {
  copyIntoController,
  meterWarnings,
  writeCalibration,
} from "../../src/commands/calibrate/keep-calibration.ts";
import { loadProof } from "../../src/commands/proof-folder.ts";
import { type Calibration, loadCalibration } from "../../src/formats/calibration.schema.ts";
import { documentOf } from "../../src/formats/load-document.ts";
import { CALIBRATION_TEXT } from "../plan/calibration-text.ts";

const example = resolve(import.meta.dirname, "../../sequences/flasher-latch");
const TODAY = "2026-06-01";
let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-keep-"));
  cpSync(example, folder, { recursive: true });
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Of the example's rig: one channel, by its number there. */
function calibrationOf(name: string, channel: number, day: string): Calibration {
  const text = CALIBRATION_TEXT.replace("rig: test-bench", "rig: cabin-bench")
    .replace("date: 2026-05-01", `date: ${day}`)
    .replace("expires: 2027-05-01", "expires: 2099-01-01")
    .replace("channels:\n", "reference: { sourceV: 2.5, volts: 5 }\nchannels:\n")
    .replace("  Q:\n", `  ${name}:\n`)
    .replace("channel: 7,", `channel: ${channel},`);
  return documentOf(loadCalibration(text, "c.yaml")).value;
}

describe("copyIntoController()", () => {
  it("gives no older line of another channel under the new day", async () => {
    writeCalibration(folder, calibrationOf("QN", 7, "2026-05-01"));
    const loaded = await loadProof(folder);
    if (!loaded.ok) throw new Error("the proof does not load");
    const given: (KeptCalibration | null)[] = [];
    const controller: Pick<ControllerBench, "keepRig"> = {
      keepRig: async (_rig, calibration = null) => {
        given.push(calibration);
        return [8];
      },
    };
    const said: string[] = [];
    const say = (line: string) => void said.push(line);
    await copyIntoController(controller, calibrationOf("Q", 8, TODAY), {
      proof: loaded.proof,
      today: TODAY,
      io: { out: say, error: say },
    });
    expect(given[0]?.day).toBe(TODAY);
    expect(given[0]?.channels.map(({ number }) => number)).toEqual([8]);
    expect(given[0]?.channels[0]?.gain).toBe(1.02);
    // 0.1 V in steps of 53.7 mV.
    expect(given[0]?.channels[0]?.offsetSteps).toBeCloseTo(0.1 / 0.0537109375, 9);
    expect(said[0]).toBe("Kept in the controller: the calibration of 2026-06-01.");
    expect(said[1]).toMatch(/^Channel 8: further off than the controller can keep/);
  });
});

describe("writeCalibration()", () => {
  it("names the file by its time in UTC, and never writes over one", () => {
    const value = calibrationOf("Q", 8, "2026-05-01");
    const path = writeCalibration(folder, value);
    expect(path).toBe(join(folder, "calibrations/2026-05-01T102030Z.yaml"));
    const before = readFileSync(path, "utf8");
    expect(() => writeCalibration(folder, { ...value, by: "CD" })).toThrow(/Expected a new file/);
    expect(readFileSync(path, "utf8")).toBe(before);
    expect(documentOf(loadCalibration(before, path)).value).toEqual(value);
  });

  it("says why there can be none", () => {
    mkdirSync(join(folder, "out"));
    writeFileSync(join(folder, "out/calibrations"), "");
    const value = calibrationOf("Q", 8, "2026-05-01");
    expect(() => writeCalibration(join(folder, "out"), value)).toThrow(/Expected a new file at/);
  });
});

describe("meterWarnings()", () => {
  it("says of a check more than a year ago, and nothing of a newer one", () => {
    const meter = { name: "m", percent: 0, volts: 0, from: "typed" } as const;
    expect(meterWarnings({ ...meter, checked: "2025-05-31" }, TODAY)).toEqual([]);
    expect(meterWarnings({ ...meter, checked: "2025-05-30" }, TODAY)[0]).toContain(
      "the meter's own check is of 2025-05-30, more than a year ago",
    );
  });
});
