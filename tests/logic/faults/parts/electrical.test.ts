/**
 * What stands for a part's fault in logic against what the simulated board reads with that part at fault: the two
 * share no code. Wherever the model knows a level, the volts must be of that class. Of the larger boards one fault
 * in so many is taken: each takes a third of a second to heat and step.
 */
import { describe, expect, it } from "vitest";
import type { Circuit as Parts } from "../../../../src/formats/circuit.schema.ts";
import type { Rig } from "../../../../src/formats/rig.schema.ts";
import type { PartFault } from "../../../../src/logic/faults/parts/part-fault.ts";
import { partFaults } from "../../../../src/logic/faults/parts/part-faults.ts";
import { FaultMachines } from "../../../../src/logic/grade/fault-machines.ts";
import { compileCircuit } from "../../../../src/logic/netlist/circuit.ts";
import { boardLogic } from "../../../../src/logic/netlist/from-board.ts";
import type { PartChange } from "../../../../src/simulate/fixture.ts";
import { createQuickFixture } from "../../../../src/simulate/quick/quick-fixture.ts";
import { shippedBoard } from "../../../simulate/fixture/step-through.ts";

type Levels = Readonly<Record<string, "low" | "high">>;

/** Cathodes are hot after three minutes. */
const HOT_MS = 180_000;
const SETTLE_MS = 200;
const OPEN_OHM = 1e9;
const BRIDGE_OHM = 1;

const latchStops: readonly Levels[] = [
  { SET: "low", RESET: "high" },
  { SET: "high", RESET: "high" },
  { SET: "low", RESET: "high" },
  { SET: "low", RESET: "low" },
  { SET: "high", RESET: "low" },
  { SET: "high", RESET: "high" },
  { SET: "high", RESET: "low" },
  { SET: "low", RESET: "low" },
];
/** Data on and off with the gate open, then moved with it closed. */
const gatedStops: readonly Levels[] = [
  { D: "low", G: "high" },
  { D: "low", G: "low" },
  { D: "high", G: "low" },
  { D: "high", G: "high" },
  { D: "high", G: "low" },
  { D: "low", G: "low" },
];
/** Preset and cleared, then two counts; master and slave rest on stages that are slow on purpose. */
const dividerStops: readonly Levels[] = [
  { CLK: "high", CLEAR: "high", PRESET: "low" },
  { CLEAR: "low" },
  { CLK: "low" },
  { CLK: "high" },
  { CLK: "low" },
  { CLK: "high" },
  { PRESET: "high" },
  { PRESET: "low" },
  { CLK: "low" },
];
const adderStops: readonly Levels[] = [
  { A: "low", B: "low" },
  { A: "high", B: "low" },
  { A: "high", B: "high" },
  { A: "low", B: "high" },
];

interface Twin {
  readonly changes: readonly PartChange[];
  readonly circuit: Parts;
}

/** The same fault as a change of the simulated parts; null where it has none. */
function twinOf({ kind, part, position }: PartFault, circuit: Parts): Twin | null {
  const changed = (names: readonly string[], parameter: string, value: number): Twin => ({
    changes: names.map((name) => ({ part: name, parameter, value, atMs: null })),
    circuit,
  });
  switch (kind) {
    case "no emission":
      return changed([part], "emission", 0);
    case "plate load open":
    case "coupling open":
    case "grid return open":
      return changed([part], "ohm", OPEN_OHM);
    case "input open":
    case "feedback open": {
      const isDiode = circuit.parts.some((one) => one.part === part && one.kind === "diode");
      return isDiode ? changed([part], "open", 1) : changed([part], "ohm", OPEN_OHM);
    }
    case "input shorted":
      return changed([part], "shorted", 1);
    case "tube missing": {
      const sections = circuit.parts.filter(
        (one) => one.kind === "triode" && one.part.startsWith(position),
      );
      return changed(
        sections.map((one) => one.part),
        "emission",
        0,
      );
    }
    case "nets bridged": {
      const [from = "", to = ""] = part.split(" and ");
      const bridge = { part: "bridge", kind: "resistor", from, to, ohm: BRIDGE_OHM } as const;
      return { changes: [], circuit: { ...circuit, parts: [...circuit.parts, bridge] } };
    }
    case "supply missing":
      return part === "bias" ? changed(["supply.bias"], "volts", 0) : null;
    case "section conducting":
      return null;
  }
}

describe.each([
  { name: "flasher-latch", stops: latchStops, oneIn: 1 },
  { name: "watch-adder", stops: adderStops, oneIn: 1 },
  { name: "sector-latch", stops: gatedStops, oneIn: 2 },
  { name: "fog-divider", stops: dividerStops, oneIn: 5 },
])("faults of the parts of $name", ({ name, stops, oneIn }) => {
  const { board, circuit: parts, rig } = shippedBoard(name);
  const logic = boardLogic(board);
  const circuit = compileCircuit(logic.netlist);
  const nets = Object.values(board.stages).map(({ output }) => output);
  const twins = partFaults(board, logic, circuit).flatMap((fault) => {
    const twin = twinOf(fault, parts);
    return twin === null ? [] : [{ text: fault.text, fault, twin }];
  });

  it.each(twins.filter((_, index) => index % oneIn === 0))("$text", ({ fault, twin }) => {
    const machines = new FaultMachines(circuit, [fault.effect], {});
    const fixture = createQuickFixture({ ...twin, rig, seed: 1 });
    let mask = 0b111;
    let nowMs = 0;
    fixture.setOutputs(mask, nowMs);
    nowMs += HOT_MS;
    const differ: string[] = [];
    let known = 0;
    for (const [index, stop] of stops.entries()) {
      machines.drive(stop);
      mask = maskFor(rig, mask, stop);
      fixture.setOutputs(mask, nowMs);
      nowMs += SETTLE_MS;
      const volts = fixture.nodeVolts(nowMs);
      for (const net of nets) {
        const level = machines.inside(0, circuit.netOf.get(net) ?? -1);
        if (level === 3) continue;
        known += 1;
        const netV = volts[net] ?? Number.NaN;
        const { vilV, vihV } = board.contract;
        const read = netV <= vilV ? 1 : netV >= vihV ? 2 : 0;
        if (read !== level) differ.push(`${index} ${net}: ${netV.toFixed(1)} V, model ${level}`);
      }
    }
    expect(differ).toEqual([]);
    expect(known).toBeGreaterThan(0);
  });
});

function maskFor(rig: Rig, before: number, move: Levels): number {
  let mask = before;
  for (const output of rig.outputs) {
    if (output.drive !== "changeover") continue;
    const level = move[output.line];
    if (level === undefined) continue;
    const bit = 1 << (output.output - 1);
    mask = level === output.operated.level ? mask | bit : mask & ~bit;
  }
  return mask;
}
