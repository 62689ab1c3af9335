/** A calibration counts for the rig, the wiring and the time it was made for, and is said where it does not. */
import { describe, expect, it } from "vitest";
import { loadBoard } from "../../src/formats/board.schema.ts";
import { loadCalibration } from "../../src/formats/calibration.schema.ts";
import { documentOf } from "../../src/formats/load-document.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { loadRig } from "../../src/formats/rig.schema.ts";
import { loadSequence } from "../../src/formats/sequence.schema.ts";
import { resolvePlan } from "../../src/plan/resolve-plan.ts";
import { CALIBRATION_TEXT, everyChannel } from "./calibration-text.ts";
import { PROOF_TEXTS, spoil } from "./proof-texts.ts";

const SHA = "0123456789abcdef".repeat(4);
const DAY = "2026-06-01";

function planWith(text: string | null, today = DAY, rigText = PROOF_TEXTS.rig) {
  const result = resolvePlan({
    board: documentOf(loadBoard(PROOF_TEXTS.board, "board.yaml")),
    rig: documentOf(loadRig(rigText, "rig.yaml")),
    sequence: documentOf(loadSequence(PROOF_TEXTS.sequence, "sequence.yaml")),
    sources: [],
    calibrated:
      text === null
        ? null
        : {
            calibration: { value: documentOf(loadCalibration(text, "c.yaml")).value, sha256: SHA },
            today,
          },
  });
  if (!result.ok) throw new Error(result.problems.map(problemLine).join("\n"));
  return result.plan;
}

function channelQ(...given: Parameters<typeof planWith>) {
  return planWith(...given).channels.find(({ name }) => name === "Q");
}

function remarksOf(...given: Parameters<typeof planWith>): string[] {
  return (planWith(...given).rule?.remarks ?? []).filter((one) => one.startsWith("calibration"));
}

describe("a calibration", () => {
  it("gives its channels their line, in the words of the plan", () => {
    expect(channelQ(CALIBRATION_TEXT)?.calibration).toEqual({
      gain: 1.02,
      offsetV: 0.1,
      fit: { gainU: 0.001, offsetU: 0.03, covariance: -2e-5, dof: null },
      meter: { part: 0.0005, volts: 0.003 },
      lowV: 5.124,
      highV: 46.02,
      residualV: 0.002,
    });
  });

  it("is named in the plan by day, meter and the first twelve digits of its hash", () => {
    expect(planWith(CALIBRATION_TEXT).calibration).toEqual({
      date: "2026-05-01T10:20:30+00:00",
      expires: "2027-05-01",
      id: "0123456789ab",
      meter: "bench meter 12",
    });
    expect(planWith(null).calibration).toBeUndefined();
  });

  it("counts until the day before its expiry", () => {
    expect(channelQ(CALIBRATION_TEXT, "2027-04-30")?.calibration).toBeDefined();
    expect(channelQ(CALIBRATION_TEXT, "2027-05-01")?.calibration).toBeUndefined();
    expect(remarksOf(CALIBRATION_TEXT, "2027-05-01")).toEqual([
      "calibration of 2026-05-01 not used: it expired on 2027-05-01",
    ]);
    expect(planWith(CALIBRATION_TEXT, "2027-05-01").calibration).toBeUndefined();
  });

  it("does not count before it was made: one of the two clocks is wrong", () => {
    expect(channelQ(CALIBRATION_TEXT, "2026-05-01")?.calibration).toBeDefined();
    expect(remarksOf(CALIBRATION_TEXT, "2026-04-30")).toEqual([
      "calibration of 2026-05-01 not used: it is later than this computer's 2026-04-30",
    ]);
  });

  it("has its day in UTC like the run", () => {
    // Half past ten in the evening of 30 April, five hours west.
    const west = spoil(CALIBRATION_TEXT, "2026-05-01T10:20:30+00:00", "2026-04-30T22:20:30-05:00");
    expect(remarksOf(west, "2027-05-01")).toEqual([
      "calibration of 2026-05-01 not used: it expired on 2027-05-01",
    ]);
  });

  it("does not count for another rig", () => {
    const other = spoil(CALIBRATION_TEXT, "rig: test-bench", "rig: attic-bench");
    expect(channelQ(other)?.calibration).toBeUndefined();
    expect(remarksOf(other)).toEqual([
      "calibration of 2026-05-01 not used: it is for rig attic-bench, this one is test-bench",
    ]);
  });

  it.each([
    ["topOhm", "topOhm: 1000000", "topOhm: 1200000"],
    ["bottomOhm", "bottomOhm: 100000", "bottomOhm: 120000"],
    ["channel", "channel: 7,", "channel: 10,"],
    ["referenceV", "referenceV: 5 }", "referenceV: 4.9 }"],
    ["pullUpOhm", "referenceV: 5 }", "pullUpOhm: 1000000, referenceV: 5 }"],
  ])("does not count for a channel whose %s is another now", (key, from, to) => {
    const text = spoil(CALIBRATION_TEXT, from, to);
    expect(channelQ(text)?.calibration).toBeUndefined();
    expect(remarksOf(text)).toContain(
      `calibration of 2026-05-01 not used for Q: ${key} changed in the rig file since`,
    );
  });

  it("does not count once a rig has got a measured reference, or another one", () => {
    const rig = `${PROOF_TEXTS.rig}reference: { channel: 16, volts: 2.5, percent: 0.4, sourceOhm: 1000, capacitorNf: 100 }\n`;
    expect(remarksOf(CALIBRATION_TEXT, DAY, rig)).toEqual([
      "calibration of 2026-05-01 not used: it was made without a measured reference, and the rig file is with a reference source of 2.5 V",
    ]);
    const measured = spoil(
      CALIBRATION_TEXT,
      "channels:\n",
      "reference: { sourceV: 2.5, volts: 5.1 }\nchannels:\n",
    );
    expect(channelQ(measured, DAY, rig)?.calibration).toBeDefined();
    const trimmed = spoil(measured, "sourceV: 2.5", "sourceV: 2.495");
    expect(remarksOf(trimmed, DAY, rig)[0]).toContain(
      "2.495 V, and the rig file is with a reference source of 2.5 V",
    );
  });

  it("says which channels it leaves out, and which are gone", () => {
    expect(remarksOf(CALIBRATION_TEXT)).toEqual([
      "calibration of 2026-05-01 leaves out heater.source, heater.board, bias.source, bias.board, plate.source, plate.board, QN, SET, RESET",
    ]);
    const gone = spoil(CALIBRATION_TEXT, "  Q:\n", "  QX:\n");
    expect(remarksOf(gone)[0]).toBe(
      "calibration of 2026-05-01 has QX, which the rig file no longer has",
    );
  });

  it("has nothing to be said of it when it is whole", () => {
    const { channels } = planWith(null);
    const wired = channels.map(({ name, number, divider, referenceV }) => {
      const { topOhm, bottomOhm, pullUpOhm } = divider;
      const pullUp = pullUpOhm === null ? "" : `pullUpOhm: ${pullUpOhm}, `;
      return [
        name,
        `{ channel: ${number}, topOhm: ${topOhm}, bottomOhm: ${bottomOhm}, ${pullUp}referenceV: ${referenceV} }`,
      ];
    });
    const text = everyChannel(Object.fromEntries(wired));
    expect(remarksOf(text)).toEqual([]);
    expect(planWith(text).channels.every(({ calibration }) => calibration !== undefined)).toBe(
      true,
    );
  });
});
