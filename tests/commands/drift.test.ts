import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { driftCommand } from "../../src/commands/drift.ts";
import { driftOf, type ReadSoak, readSoak } from "../../src/commands/read-soak.ts";
import { driftingSoak, type SoakedUnit, sheetWith } from "../journal/drifting-soak.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";
import type { MadeNight } from "../verdict/drift/made-night.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-drift-"));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

/** A made night as the journal of a soak on disk. */
function soaked(night: MadeNight, more: SoakedUnit = {}): string {
  const path = join(folder, `${night.seed}.ndjson`);
  const events = driftingSoak(night, { isOver: false, ...more }).map(({ event }) => event);
  writeFileSync(path, writeRun(events).bytes);
  return path;
}

function soakAt(path: string): ReadSoak {
  const soak = readSoak(path);
  if (soak === null) throw new Error(`no soak in ${path}`);
  return soak;
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
    const other = soaked({ seed: "other" }, { unit: "LV-12" });
    expect(() => drift(two, [other])).toThrow(/earlier soak of unit FL-07 of .*, .* is of LV-12/);
  });

  it("holds a soak against what it was taught when it began, and says so", () => {
    const history = driftOf(soakAt(soaked({ seed: "one", unit: "FL-07" })), null).learned;
    const taught = { newest: "2026-05-01-flasher-latch", history };
    const night: MadeNight = { seed: "two", unit: "FL-07" };
    const alone = drift(soaked(night)).said.at(-1) ?? "";
    const { said } = drift(soaked({ ...night, seed: "two" }, { taught }));
    expect(said[0]).toContain("taught by 1 earlier soak of the unit");
    const millivolts = (line: string) => Number(/a drift of (\d+) mV/.exec(line)?.[1]);
    expect(millivolts(said.at(-1) ?? "")).toBeLessThan(millivolts(alone));
  });

  it("says which tube to swap by its serial, where a unit file has it", () => {
    const weak = { seed: "weak", loss: { V1a: 0.02 } };
    const { said } = drift(soaked(weak, { sheet: sheetWith("LV-T031") }));
    expect(said[4]).toContain("swap V1 (LV-T031) with a known good tube");
    expect(drift(soaked(weak)).said[4]).toContain("swap V1 with a known good tube");
  });

  it("refuses a run that is no soak", () => {
    const path = join(folder, "proof.ndjson");
    writeFileSync(path, writeRun(healthyEvents).bytes);
    expect(() => drift(path)).toThrow(/Expected a soak in .*proof\.ndjson, there is none/);
  });
});
