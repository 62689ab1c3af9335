import { describe, expect, it } from "vitest";
import {
  compileCircuit,
  gateTypeOf,
  pinsOf,
  takersOfNet,
} from "../../../src/logic/netlist/circuit.ts";
import type { Netlist } from "../../../src/logic/netlist/netlist.ts";
import { netlistProblems } from "../../../src/logic/netlist/netlist-problems.ts";

/** A latch whose output is taken by a gate that stands before it in the file. */
const latch: Netlist = {
  name: "latch",
  inputs: ["SET", "RESET"],
  outputs: ["Q", "BOTH"],
  flipFlops: [],
  gates: [
    { name: "V2a", type: "and", inputs: ["Q", "Q"], output: "BOTH" },
    { name: "V1a", type: "nor", inputs: ["SET", "Q"], output: "QN" },
    { name: "V1b", type: "nor", inputs: ["RESET", "QN"], output: "Q" },
  ],
};

const empty: Netlist = { name: "empty", inputs: [], outputs: [], flipFlops: [], gates: [] };

describe("compileCircuit", () => {
  it("puts what feeds back on each other side by side, before what takes from it", () => {
    const circuit = compileCircuit(latch);
    expect(circuit.order.at(-1)).toBe(0);
    expect(circuit.loops.map((group) => [...group].sort())).toEqual([[1, 2]]);
  });

  it("names a gate that feeds back on itself as a loop, and none where there is no feedback", () => {
    const alone: Netlist = {
      ...empty,
      gates: [{ name: "G", type: "nor", inputs: ["G"], output: "G" }],
    };
    expect(compileCircuit(alone).loops).toHaveLength(1);
    expect(
      compileCircuit({ ...latch, gates: latch.gates.slice(0, 1), inputs: ["Q"], outputs: [] })
        .loops,
    ).toEqual([]);
  });

  it("keeps pins in order and names each taker of a net once", () => {
    const circuit = compileCircuit(latch);
    const net = (name: string) => circuit.netOf.get(name) ?? -1;
    expect([...pinsOf(circuit, 0)]).toEqual([net("Q"), net("Q")]);
    expect([...takersOfNet(circuit, net("Q"))]).toEqual([0, 1]);
    expect(gateTypeOf(circuit, 1)).toBe("nor");
    expect([...circuit.driver]).toEqual([-1, -1, 0, 1, 2]);
  });

  it("orders a chain of a hundred thousand gates", () => {
    const gates = Array.from({ length: 100_000 }, (_, index) => ({
      name: `N${index}`,
      type: "not" as const,
      inputs: [index === 99_999 ? "IN" : `N${index + 1}`],
      output: `N${index}`,
    }));
    const circuit = compileCircuit({ ...empty, inputs: ["IN"], gates });
    expect(circuit.order[0]).toBe(99_999);
    expect(circuit.order.at(-1)).toBe(0);
  });
});

describe("netlistProblems", () => {
  it("finds none in a sound netlist", () => {
    expect(netlistProblems(latch)).toEqual([]);
  });

  it("names floating inputs with who takes them, shorted outputs with who drives them", () => {
    const wrong: Netlist = {
      ...latch,
      outputs: ["Q", "GONE"],
      gates: [
        ...latch.gates.slice(1),
        { name: "V3a", type: "not", inputs: ["LOOSE", "SET"], output: "Q" },
      ],
    };
    expect(netlistProblems(wrong).map(({ kind, net, at }) => ({ kind, net, at }))).toEqual([
      { kind: "shorted outputs", net: "Q", at: ["V1b", "V3a"] },
      { kind: "wrong input count", net: "Q", at: ["V3a"] },
      { kind: "floating input", net: "LOOSE", at: ["V3a"] },
      { kind: "no such output", net: "GONE", at: [] },
    ]);
    expect(() => compileCircuit(wrong)).toThrow(/V1b and V3a both drive Q/);
  });
});
