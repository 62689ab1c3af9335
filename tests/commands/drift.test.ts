import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { driftCommand } from "../../src/commands/drift.ts";
import type { ChannelReading, JudgedReading, RunEvent } from "../../src/events/events.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";
import { order } from "../record/soak-night.ts";
import { type MadeNight, madeNight } from "../verdict/drift/made-night.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-drift-"));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

const opened = healthyEvents.find((event) => event.kind === "run-opened");

function reading(channel: string, volts: number | null): ChannelReading {
  return {
    channel,
    volts,
    noReading: volts === null ? "torn" : null,
    sum: 0,
    count: 0,
    min: 0,
    max: 0,
  };
}

/** A made night as the journal of a soak on disk. */
function soaked(night: MadeNight, unit = "LV-07"): string {
  if (opened === undefined) throw new Error("The run has no opening.");
  const { wall } = opened;
  const sets = madeNight(night).map((set): RunEvent => {
    const steps = [...new Set(set.readings.map(({ step }) => step))].map((step) => ({
      step,
      readings: set.readings
        .filter((one) => one.step === step)
        .map(
          ({ net, class: expected, volts }): JudgedReading => ({
            ...reading(net, volts),
            class: expected,
            expected,
            result: "pass",
            reason: "as expected",
            limitV: null,
            marginV: null,
          }),
        ),
    }));
    const rails = Object.entries(set.rails).map(([rail, volts]) => reading(`${rail}.board`, volts));
    const { moment, referenceV, celsius } = set;
    const onMs = Math.round(3_600_000 * set.onHours);
    return {
      kind: "soak-readings",
      set: set.set,
      cycle: set.set,
      moment,
      onMs,
      steps,
      rails,
      referenceV,
      celsius,
    };
  });
  const events: RunEvent[] = [
    { ...opened, mode: "soak", unit, soak: order },
    { kind: "leg-begun", leg: 1, why: "first", wall, gapMs: null, tornBytes: 0 },
    ...sets,
  ];
  const path = join(folder, `${night.seed}.ndjson`);
  writeFileSync(path, writeRun(events).bytes);
  return path;
}

function drift(run: string, earlier: readonly string[] = [], json = false) {
  const said: string[] = [];
  const wrong: string[] = [];
  const io = { out: (line: string) => said.push(line), error: (line: string) => wrong.push(line) };
  return { status: driftCommand(run, earlier, { json }, io), said, wrong };
}

describe("driftCommand", () => {
  it("names the section that lost emission, what else it could be and what to try", () => {
    const { status, said } = drift(soaked({ seed: "weak", loss: { V1a: 0.02 } }));
    expect(status).toBe(1);
    expect(said[0]).toMatch(/^Found: V1a conducts less and less: the low level of QN rose 1\d0 mV/);
    expect(said.slice(1, 5).map((line) => line.split(":")[0]?.trim())).toEqual([
      "How sure",
      "Rests on",
      "Could also be",
      "Next",
    ]);
  });

  it("says of a healthy night what it could have seen, and claims no more", () => {
    const { status, said } = drift(soaked({ seed: "healthy" }));
    expect(status).toBe(0);
    expect(said[0]).toMatch(
      /^No section was seen to drift, 138 full sets over 11\.4 h, with plate/,
    );
    expect(said.at(-1)).toMatch(/^V1[ab]: a drift of \d+ mV over the run would have been seen/);
  });

  it("is keener with earlier soaks of the unit, and refuses those of another", () => {
    const one = soaked({ seed: "one", unit: "LV-07" });
    const two = soaked({ seed: "two", unit: "LV-07" });
    const smallest = (said: readonly string[]) =>
      JSON.parse(said[0] ?? "{}").levels.map((level: { smallestV: number }) => level.smallestV);
    const [alone, taught] = [drift(two, [], true), drift(two, [one], true)].map(({ said }) =>
      smallest(said),
    );
    expect(taught[0]).toBeLessThan(alone[0]);
    const other = soaked({ seed: "other" }, "LV-12");
    expect(() => drift(two, [other])).toThrow(/earlier soak of unit LV-07 of .*, .* is of LV-12/);
  });

  it("refuses a run that is no soak", () => {
    const path = join(folder, "proof.ndjson");
    writeFileSync(path, writeRun(healthyEvents).bytes);
    expect(() => drift(path)).toThrow(/Expected a soak in .*proof\.ndjson, there is none/);
  });
});
