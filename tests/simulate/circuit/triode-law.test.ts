import { describe, expect, it } from "vitest";
import { type TriodeCurrent, triodeCurrent } from "../../../src/simulate/circuit/triode-law.ts";
import { triodeLawOf } from "../../../src/simulate/circuit/tube-types.ts";
import published from "../../references/electronics/ecc82.json" with { type: "json" };

const law = triodeLawOf("ECC82");

function at(plateV: number, gridV: number): TriodeCurrent {
  const out = { plateA: 0, platePerPlateV: 0, platePerGridV: 0, gridA: 0, gridPerGridV: 0 };
  triodeCurrent(law, plateV, gridV, out);
  return out;
}

describe("triodeCurrent", () => {
  // Published model, computed independently: see the source in the data.
  it.each(published.modelCheckValues.points)(
    "gives the model's current and slopes at $plateV V, $gridV V",
    (point) => {
      const { plateA, platePerGridV, platePerPlateV } = at(point.plateV, point.gridV);
      expect(plateA * 1e3).toBeCloseTo(point.plateMa, 4);
      expect(platePerGridV * 1e3).toBeCloseTo(point.gmMaPerV, 3);
      expect(1 / platePerPlateV / point.raOhm).toBeCloseTo(1, 3);
    },
  );

  it("lies within 15 % and 0.5 mA of the data-sheet curves up to 100 V, where the boards work", () => {
    const off = published.plateCurves.points
      .filter(({ plateV }) => plateV <= 100)
      .map(({ plateV, gridV, plateMa }) => ({
        plateV,
        gridV,
        plateMa,
        oursMa: at(plateV, gridV).plateA * 1e3,
      }))
      .filter(
        ({ plateMa, oursMa }) =>
          Math.abs(oursMa - plateMa) > 0.5 && Math.abs(oursMa / plateMa - 1) > 0.15,
      );
    expect(off).toEqual([]);
  });

  it("lies within 10 % of every data-sheet point of 5 mA or more", () => {
    const ratios = published.plateCurves.points
      .filter(({ plateMa }) => plateMa >= 5)
      .map(({ plateV, gridV, plateMa }) => (at(plateV, gridV).plateA * 1e3) / plateMa);
    expect(ratios.length).toBeGreaterThan(12);
    for (const ratio of ratios) expect(Math.abs(ratio - 1)).toBeLessThan(0.1);
  });

  it("meets the rated point of the type within 2 %", () => {
    const { plateV, gridV, plateMa } = published.ratedPoint;
    expect(Math.abs((at(plateV, gridV).plateA * 1e3) / plateMa - 1)).toBeLessThan(0.02);
  });

  it("passes no plate current with the plate at or below the cathode", () => {
    expect(at(0, 0).plateA).toBe(0);
    expect(at(-20, 5).plateA).toBe(0);
  });

  it("draws grid current as 2 kOhm above 0 V and next to none 1 V below", () => {
    expect((at(40, 3).gridA - at(40, 2).gridA) * 2000).toBeCloseTo(1, 6);
    expect(at(40, -1).gridA).toBeLessThan(1e-8);
  });

  it("has slopes that agree with its currents far from the curves as well", () => {
    for (const [plateV, gridV] of [
      [0.5, 1],
      [12, 0.2],
      [45, -9],
      [45, 7],
    ] as const) {
      const step = 1e-5;
      const perGrid =
        (at(plateV, gridV + step).plateA - at(plateV, gridV - step).plateA) / (2 * step);
      const perPlate =
        (at(plateV + step, gridV).plateA - at(plateV - step, gridV).plateA) / (2 * step);
      const out = at(plateV, gridV);
      expect(out.platePerGridV).toBeCloseTo(perGrid, 8);
      expect(out.platePerPlateV).toBeCloseTo(perPlate, 8);
    }
  });
});

describe("triodeLawOf", () => {
  it("refuses a type nobody has published here and names those it has", () => {
    expect(() => triodeLawOf("ECC999")).toThrow(/ECC82.*got "ECC999"/);
  });
});
