/** A tube's way through the rack, from the unit sheets of runs. */
import { describe, expect, it } from "vitest";
import { doubledSerials, replacedBy, stintsOf } from "../../src/history/tube-stints.ts";
import { tubeInRun } from "./rows.ts";

const serial = "LV-T031";

describe("stintsOf", () => {
  it("adds up hours while a tube stays, though other units are proved between", () => {
    const stints = stintsOf([
      tubeInRun(0, { serial }),
      tubeInRun(1, { serial: "LV-T040", unit: "LV-13" }),
      tubeInRun(2, { serial, mode: "soak", heaterMs: 50_000 }),
    ]);
    expect(stints).toHaveLength(2);
    expect(stints[0]).toMatchObject({
      serial,
      unit: "LV-12",
      position: "V1",
      runs: ["run 0", "run 2"],
      proof: "run 0",
      heaterMs: 51_000,
      plateMs: 1600,
      heaterOnlyMs: 400,
    });
  });

  it("begins a new stint when the serial turns up elsewhere, and another when it comes back", () => {
    const stints = stintsOf([
      tubeInRun(0, { serial }),
      tubeInRun(1, { serial, unit: "LV-13" }),
      tubeInRun(2, { serial }),
      tubeInRun(3, { serial, position: "V2" }),
    ]);
    expect(stints.map(({ unit, position }) => `${unit} ${position}`)).toEqual([
      "LV-12 V1",
      "LV-13 V1",
      "LV-12 V1",
      "LV-12 V2",
    ]);
  });

  it("keeps the simulated bench apart from a real one", () => {
    const stints = stintsOf([
      tubeInRun(0, { serial }),
      tubeInRun(1, { serial, bench: "emulated" }),
    ]);
    expect(stints).toHaveLength(2);
  });

  it("names what stands in its place since, and nothing that stood there before", () => {
    const stints = stintsOf([
      tubeInRun(0, { serial: "LV-T001" }),
      tubeInRun(1, { serial }),
      tubeInRun(2, { serial: "LV-T040" }),
    ]);
    const last = stints.find((stint) => stint.serial === serial);
    if (last === undefined) throw new Error("the tube has a stint");
    expect(replacedBy(last, stints)?.serial).toBe("LV-T040");
    expect(replacedBy(last, stints.slice(0, 2))).toBeNull();
  });
});

describe("doubledSerials", () => {
  it("finds a serial in two sockets of one run", () => {
    const rows = [
      tubeInRun(0, { serial }),
      tubeInRun(0, { serial, position: "V2" }),
      tubeInRun(1, { serial }),
    ];
    expect(doubledSerials(rows)).toEqual([{ serial, run: "run 0", positions: ["V1", "V2"] }]);
  });
});
