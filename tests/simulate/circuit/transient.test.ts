import { describe, expect, it } from "vitest";
import type { Circuit } from "../../../src/formats/circuit.schema.ts";
import { BoardModel } from "../../../src/simulate/circuit/board-model.ts";
import { Transient } from "../../../src/simulate/circuit/transient.ts";

type Parts = Circuit["parts"];

/** A board whose rail `in` hangs on an ideal enough source. */
function board(parts: Parts, volts: number): { transient: Transient; model: BoardModel } {
  const circuit: Circuit = { format: "holdfast-circuit", version: 1, circuit: "bench", parts };
  const model = new BoardModel({
    circuit,
    outside: [{ name: "supply", from: "in", to: "common" }],
    leads: [],
    seed: 1,
    spread: { partsFraction: 0, tubesFraction: 0 },
  });
  Object.assign(model.branch("supply"), { siemens: 10, emfV: volts });
  return { model, transient: new Transient(model) };
}

function runTo(transient: Transient, seconds: number): void {
  while (transient.endS < seconds) transient.step(seconds);
}

const resistor = (part: string, from: string, to: string, ohm: number) =>
  ({ part, kind: "resistor", from, to, ohm }) as const;

describe("Transient", () => {
  it("charges a capacitor along the exponential of its time constant", () => {
    const parts: Parts = [
      resistor("R1", "in", "out", 10_000),
      { part: "C1", kind: "capacitor", from: "out", to: "common", farad: 1e-6 },
    ];
    const { transient, model } = board(parts, 10);
    for (const seconds of [0.005, 0.01, 0.02, 0.05]) {
      runTo(transient, seconds);
      const exact = 10 * (1 - Math.exp(-seconds / 0.01));
      // The tolerance of a step, a few of which add up.
      expect(Math.abs(transient.endV(model.node("out")) - exact)).toBeLessThan(0.3);
    }
    runTo(transient, 0.2);
    expect(transient.endV(model.node("out"))).toBeCloseTo(10, 3);
  });

  it("divides volts by resistors to the microvolt once it is still", () => {
    const { transient, model } = board(
      [resistor("R1", "in", "out", 3e5), resistor("R2", "out", "common", 1e5)],
      40,
    );
    runTo(transient, 0.1);
    const inV = transient.endV(model.node("in"));
    expect(transient.endV(model.node("out"))).toBeCloseTo(inV / 4, 5);
  });

  it("puts 0.6 V across a diode at 1 mA and blocks in reverse", () => {
    const parts: Parts = [
      resistor("R1", "in", "a", 10_000),
      { part: "D1", kind: "diode", anode: "a", cathode: "common" },
      resistor("R2", "in", "b", 10_000),
      { part: "D2", kind: "diode", anode: "common", cathode: "b" },
    ];
    const { transient, model } = board(parts, 10.6);
    runTo(transient, 0.1);
    expect(transient.endV(model.node("a"))).toBeGreaterThan(0.5);
    expect(transient.endV(model.node("a"))).toBeLessThan(0.65);
    expect(transient.endV(model.node("b"))).toBeCloseTo(10.6, 2);
  });

  it("is cut short at a moment and goes on from the volts there", () => {
    const parts: Parts = [
      resistor("R1", "in", "out", 10_000),
      { part: "C1", kind: "capacitor", from: "out", to: "common", farad: 1e-5 },
    ];
    const { transient, model } = board(parts, 10);
    runTo(transient, 0.5);
    transient.step(1);
    const middle = (transient.beginS + transient.endS) / 2;
    const volts = transient.voltsAt(model.node("out"), middle);
    transient.cutAt(middle);
    expect(transient.endS).toBe(middle);
    expect(transient.endV(model.node("out"))).toBe(volts);
  });
});
