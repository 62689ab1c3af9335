/**
 * What rails and wear do to a stage, by the circuit solver, against the signs and sizes that are supposed
 * where a night tells nothing. The solver shares no code with the verdict.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import { loadCircuit } from "../../../src/formats/circuit.schema.ts";
import { BoardModel, NO_SPREAD, USUAL_SPREAD } from "../../../src/simulate/circuit/board-model.ts";
import { Transient } from "../../../src/simulate/circuit/transient.ts";
import { defaultSensitivity } from "../../../src/verdict/drift/default-sensitivity.ts";
import { HIGH_PER_PLATE, LOW_PER } from "./made-night.ts";

const PLATE_V = 48;
const path = join(import.meta.dirname, "../../../sequences/flasher-latch/circuit.yaml");
const loaded = loadCircuit(readFileSync(path, "utf8"), "circuit.yaml");
if (!loaded.ok) throw new Error("the shipped circuit does not load");
const circuit = loaded.document.value;
/** Long enough for every node and cathode to be still, seconds. */
const STILL_S = 60;

interface Asked {
  readonly plate?: number;
  readonly bias?: number;
  readonly heater?: number;
  readonly emission?: number;
  readonly seed?: number;
}

/** Settled volts of QN with SET high (V1a conducts) and of Q beside it. */
function settled({ plate = PLATE_V, bias = -24, heater = 12.6, emission = 1, seed = 0 }: Asked) {
  const nodes = ["plate", "bias", "heater", "SET", "RESET", "Q", "QN"];
  const model = new BoardModel({
    circuit,
    outside: nodes.map((node) => ({ name: `outside.${node}`, from: node, to: "common" })),
    leads: [],
    seed,
    spread: seed === 0 ? NO_SPREAD : USUAL_SPREAD,
  });
  const hang = (node: string, ohm: number, volts: number): void => {
    const branch = model.branch(`outside.${node}`);
    branch.siemens = 1 / ohm;
    branch.emfV = volts;
  };
  hang("plate", 1, plate);
  hang("bias", 1, bias);
  hang("heater", 0.1, heater);
  hang("SET", 10_000, (44 * plate) / PLATE_V);
  hang("RESET", 1000, 0);
  hang("Q", 1.1e6, 0);
  hang("QN", 1.1e6, 0);
  const worn = model.triodes.find(({ name }) => name === "V1a");
  if (worn !== undefined) worn.emission = emission;
  for (const one of model.heaters) {
    one.cathode = 1;
    one.wire = 1;
  }
  const transient = new Transient(model);
  while (transient.endS < STILL_S) transient.step(STILL_S);
  return { low: transient.endV(model.node("QN")), high: transient.endV(model.node("Q")) };
}

describe("a stage of the flasher latch", () => {
  let usual: ReturnType<typeof settled>;
  beforeAll(() => {
    usual = settled({});
  });
  const per = (asked: Asked, by: number, of: ReturnType<typeof settled> = usual) => {
    const { low, high } = settled(asked);
    return { low: (low - of.low) / by, high: (high - of.high) / by };
  };
  const at = () => ({ levelV: usual.low, plateV: PLATE_V, heaterV: 12.6 });

  it("rises at its low level by some 57 mV for a hundredth of emission lost, and not at its high level", () => {
    const lost = per({ emission: 0.99 }, -0.01);
    expect(lost.low).toBeCloseTo(LOW_PER.emission, 1);
    expect(Math.abs(lost.high)).toBeLessThan(0.01);
  });

  it("follows the plate rail at both levels, as supposed", () => {
    const moved = per({ plate: PLATE_V * 1.02 }, PLATE_V * 0.02);
    const low = defaultSensitivity("low", "plate", at());
    const high = defaultSensitivity("high", "plate", { ...at(), levelV: usual.high });
    expect(Math.abs(moved.low - low.mean)).toBeLessThan(low.sd);
    expect(Math.abs(moved.high - high.mean)).toBeLessThan(high.sd);
    expect(moved.low).toBeCloseTo(LOW_PER.plate, 2);
    expect(moved.high).toBeCloseTo(HIGH_PER_PLATE, 2);
  });

  it("rises with more bias and falls with more heater, as supposed", () => {
    const bias = per({ bias: -24.48 }, -0.48);
    const heater = per({ heater: 12.6 * 0.98 }, -12.6 * 0.02);
    for (const [name, found, made] of [
      ["bias", bias.low, LOW_PER.bias],
      ["heater", heater.low, LOW_PER.heater],
    ] as const) {
      const { mean, sd } = defaultSensitivity("low", name, at());
      expect(Math.sign(found)).toBe(Math.sign(mean));
      expect(Math.abs(found - mean)).toBeLessThan(sd);
      expect(found).toBeCloseTo(made, 2);
    }
  });

  it("does so within what is supposed for tubes as new ones differ and parts of 5 %", () => {
    for (let seed = 1; seed <= 6; seed += 1) {
      const of = settled({ seed });
      const plate = per({ seed, plate: PLATE_V * 1.02 }, PLATE_V * 0.02, of);
      const bias = per({ seed, bias: -24.48 }, -0.48, of);
      const where = { ...at(), levelV: of.low };
      const byPlate = defaultSensitivity("low", "plate", where);
      const byBias = defaultSensitivity("low", "bias", where);
      expect(Math.abs(plate.low - byPlate.mean)).toBeLessThan(2 * byPlate.sd);
      expect(Math.abs(bias.low - byBias.mean)).toBeLessThan(2 * byBias.sd);
    }
  });

  it("moves in a line within the 2 % that a rail may go, to a millivolt", () => {
    const up = settled({ plate: PLATE_V * 1.02 }).low - usual.low;
    const down = settled({ plate: PLATE_V * 0.98 }).low - usual.low;
    expect(Math.abs(up + down)).toBeLessThan(1e-3 * 2);
  });
});
