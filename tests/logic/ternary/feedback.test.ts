/** Loops beside flip-flops are named; loops of a latch board and paths through a flip-flop are not. */
import { expect, it } from "vitest";
import { readBenchNetlist } from "../../../src/formats/bench-netlist.ts";
import { compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { unclockedLoops } from "../../../src/logic/ternary/feedback.ts";
import { benchmarkCircuit } from "../reference-netlists.ts";

it.each([
  ["a latch beside a flip-flop", "Q = NOR(R, P)\nP = NOR(S, Q)\nF = DFF(Q)\n", [["P", "Q"]]],
  ["a latch alone", "Q = NOR(R, P)\nP = NOR(S, Q)\n", []],
  ["a path back through a flip-flop", "Q = NOR(R, F)\nF = DFF(Q)\n", []],
])("%s", (_, gates, loops) => {
  const read = readBenchNetlist(`INPUT(S)\nINPUT(R)\n${gates}`, "rack.bench");
  if (!read.ok) throw new Error("unreadable");
  expect(unclockedLoops(compileCircuit(read.netlist)).map((loop) => loop.sort())).toEqual(loops);
});

it("finds none in s27", () => expect(unclockedLoops(benchmarkCircuit("s27"))).toEqual([]));
