/** Calibration files: what is taken, and what is refused where it stands. */
import { describe, expect, it } from "vitest";
import { loadCalibration } from "../../src/formats/calibration.schema.ts";
import { documentOf } from "../../src/formats/load-document.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { CALIBRATION_TEXT } from "../plan/calibration-text.ts";
import { spoil } from "../plan/proof-texts.ts";

function problems(from: string, to: string): string[] {
  const result = loadCalibration(spoil(CALIBRATION_TEXT, from, to), "c.yaml");
  return result.ok ? [] : result.problems.map(problemLine);
}

describe("loadCalibration()", () => {
  it("reads one", () => {
    const { value } = documentOf(loadCalibration(CALIBRATION_TEXT, "c.yaml"));
    expect(value.channels["Q"]).toMatchObject({ gain: 1.02, offsetV: 0.1, found: "marked" });
    expect(value.meter).toMatchObject({ percent: 0.05, from: "typed" });
  });

  it.each([
    ["a newer version", "version: 1", "version: 2", /^c\.yaml:2:10: 2: .*newer than this program/],
    [
      "a date that is none",
      "date: 2026-05-01T10:20:30+00:00",
      "date: last May",
      /^c\.yaml:4:7: last May/,
    ],
    [
      "a date without its offset",
      "10:20:30+00:00",
      "10:20:30",
      /^c\.yaml:4:7: .*2026-05-01T10:20:30\+00:00/,
    ],
    ["an expiry that is no day", "expires: 2027-05-01", "expires: never", /^c\.yaml:5:10: never/],
    ["a gain that no channel has", "gain: 1.02", "gain: -1.02", /^c\.yaml:15:11: -1\.02/],
    [
      "a single point",
      /* the second */ "      - { meterV: 46.02, digitV: 0.01, code: 838.2, count: 64, min: 837, max: 839, asFoundV: -1.0, asLeftV: 0 }\n",
      "",
      /^c\.yaml:12:\d+/,
    ],
    ["points in the wrong order", "highV: 46.02", "highV: 4", /expected lowV below highV/],
    [
      "a name that is no channel",
      "  Q:\n",
      "  Q.board.x:\n",
      /^c\.yaml:9:3: .*a channel such as Q/,
    ],
    ["a key it does not know", "by: AB", "bye: AB", /^c\.yaml:6:1: bye/],
    ["an uncertainty below nothing", "gainU: 0.001", "gainU: -0.001", /^c\.yaml:17:19: -0\.001/],
  ])("refuses %s at its place", (_what, from, to, said) => {
    expect(problems(from, to).join("\n")).toMatch(said);
  });
});
