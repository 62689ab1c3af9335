import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { Lanes } from "../../../src/logic/lanes/lanes.ts";
import { compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import type { GateType, Netlist } from "../../../src/logic/netlist/netlist.ts";
import { everyFault, randomNetlists } from "./random-netlists.ts";
import { SlowTernary, type Ternary } from "./slow-ternary.ts";

const LETTERS = ["?", "0", "1", "X"] as const;
const bits = (letter: string | undefined) => ["0", "1", "X"].indexOf(letter ?? "") + 1;

/** One move of a walk: lines to values, an edge of the clock after it or not. */
const walks = fc.array(
  fc.record({
    lines: fc.array(fc.constantFrom<Ternary>("0", "1", "1", "0", "X"), {
      minLength: 4,
      maxLength: 4,
    }),
    clock: fc.boolean(),
  }),
  { minLength: 1, maxLength: 5 },
);

describe("Lanes", () => {
  it("settles every faulty copy as one copy alone does, the plain way", () => {
    let lanesCompared = 0;
    fc.assert(
      fc.property(
        randomNetlists({ gatesMost: 9, flipFlopsMost: 2, slow: true }),
        walks,
        fc.option(fc.array(fc.constantFrom<Ternary>("0", "1", "X"), { minLength: 16 }), {
          nil: undefined,
        }),
        (netlist, walk, start) => {
          const circuit = compileCircuit(netlist);
          const single = everyFault(circuit).map((fault) => [fault]);
          const faults = [...single, [0, 5].flatMap((one) => single[one] ?? [])];
          const lanes = new Lanes(circuit, faults);
          const startValues = new Map(
            circuit.nets.map((net, index) => [net, start?.[index] ?? ("X" as const)]),
          );
          if (start) lanes.startFrom(circuit.nets.map((net) => bits(startValues.get(net))));
          const copies = [[], ...faults].map((one) => new SlowTernary(netlist, one, startValues));
          for (const { lines, clock } of walk) {
            lanes.step(netlist.inputs.map((_, index) => bits(lines[index])));
            for (const copy of copies)
              copy.step(new Map(netlist.inputs.map((net, index) => [net, lines[index] ?? "X"])));
            if (clock) {
              lanes.clock();
              for (const copy of copies) copy.clock();
            }
            for (const [lane, copy] of copies.entries()) {
              const here = circuit.nets.map((_, net) => LETTERS[lanes.value(net, lane)]);
              const there = circuit.nets.map((net) => copy.values.get(net));
              expect(here, `lane ${lane}`).toEqual(there);
              lanesCompared += 1;
            }
            compareReadings(lanes, copies);
          }
        },
      ),
      { numRuns: 150, seed: 20261127 },
    );
    expect(lanesCompared).toBeGreaterThan(10_000);
  });

  it("answers the published ternary steps in its faultless lane", () => {
    const { examples } = JSON.parse(
      readFileSync("tests/references/logic/ternary.json", "utf8"),
    ) as TernaryReference;
    let steps = 0;
    for (const example of examples) {
      const circuit = compileCircuit(netlistOf(example));
      const lanes = new Lanes(circuit, []);
      for (const step of example.steps) {
        lanes.startFrom(circuit.nets.map((net) => bits(step.start[net] ?? step.inputs_from[net])));
        lanes.step(example.inputs.map((net) => bits(step.inputs_to[net])));
        const found = Object.keys(step.algorithm_B).map((net) => [
          net,
          LETTERS[lanes.value(circuit.netOf.get(net) ?? -1)],
        ]);
        expect(Object.fromEntries(found), `${example.id}: ${step.change}`).toEqual(
          step.algorithm_B,
        );
        steps += 1;
      }
    }
    expect(steps).toBe(42);
  });

  it("goes on from a kept state as if it had never gone elsewhere", () => {
    fc.assert(
      fc.property(
        randomNetlists({ gatesMost: 12, flipFlopsMost: 2, slow: true }),
        fc.array(fc.array(fc.integer({ min: 1, max: 3 }), { minLength: 4, maxLength: 4 }), {
          minLength: 3,
          maxLength: 3,
        }),
        (netlist, [first, aside, second]) => {
          const circuit = compileCircuit(netlist);
          const lanes = new Lanes(
            circuit,
            everyFault(circuit).map((fault) => [fault]),
          );
          lanes.step(first ?? []);
          const kept = lanes.save();
          lanes.step(second ?? []);
          const straight = lanes.save();
          lanes.step(aside ?? []);
          lanes.restore(kept);
          lanes.step(second ?? []);
          expect(lanes.save()).toEqual(straight);
        },
      ),
      { numRuns: 100, seed: 4 },
    );
  });

  it("passes a master and slave on one clock line only where the master's gates are slow", () => {
    const divider = (slow: boolean): Netlist => ({
      name: "divider",
      inputs: ["CLK", "CLEAR"],
      outputs: ["Q"],
      flipFlops: [],
      gates: [
        { name: "CLKN", type: "not", inputs: ["CLK"], output: "CLKN" },
        { name: "MS", type: "nor", inputs: ["Q", "CLK"], output: "MS", ...(slow && { slow }) },
        { name: "MR", type: "nor", inputs: ["QN", "CLK"], output: "MR", ...(slow && { slow }) },
        { name: "MN", type: "nor", inputs: ["MS", "M"], output: "MN" },
        { name: "M", type: "nor", inputs: ["MR", "MN", "CLEAR"], output: "M" },
        { name: "SS", type: "nor", inputs: ["MN", "CLKN"], output: "SS" },
        { name: "SR", type: "nor", inputs: ["M", "CLKN"], output: "SR" },
        { name: "QN", type: "nor", inputs: ["SS", "Q"], output: "QN" },
        { name: "Q", type: "nor", inputs: ["SR", "QN", "CLEAR"], output: "Q" },
      ],
    });
    const count = (slow: boolean) => {
      const circuit = compileCircuit(divider(slow));
      const lanes = new Lanes(circuit, []);
      lanes.step([1, 2]);
      lanes.step([1, 1]);
      const counted = [2, 1, 2, 1, 2].map((clk) => {
        lanes.step([clk, 1]);
        return LETTERS[lanes.value(circuit.netOf.get("Q") ?? -1)];
      });
      return counted.join("");
    };
    expect(count(true)).toBe("11001");
    expect(count(false)).toBe("XXXXX");
  });
});

function compareReadings(lanes: Lanes, copies: readonly SlowTernary[]): void {
  const { nets } = lanes.circuit;
  const { detected, possible } = lanes.read(nets.map((_, net) => net));
  const [good] = copies;
  for (const [lane, copy] of copies.entries()) {
    const pairs = nets.map((net) => [good?.values.get(net), copy.reading(net)]);
    const known = pairs.filter(([of]) => of !== "X");
    const bit = (words: Int32Array) => ((words[Math.floor(lane / 32)] ?? 0) >>> (lane % 32)) & 1;
    expect(bit(detected), `lane ${lane} detected`).toBe(
      Number(known.some(([of, is]) => is !== "X" && is !== of)),
    );
    expect(bit(possible), `lane ${lane} possible`).toBe(Number(known.some(([, is]) => is === "X")));
  }
}

interface TernaryReference {
  readonly examples: readonly {
    readonly id: string;
    readonly inputs: readonly string[];
    readonly gates: readonly { out: string; type: string; in: readonly string[] }[];
    readonly steps: readonly {
      readonly change: string;
      readonly inputs_from: Readonly<Record<string, string>>;
      readonly inputs_to: Readonly<Record<string, string>>;
      readonly start: Readonly<Record<string, string>>;
      readonly algorithm_B: Readonly<Record<string, string>>;
    }[];
  }[];
}

function netlistOf({ id, inputs, gates }: TernaryReference["examples"][number]): Netlist {
  return {
    name: id,
    inputs,
    outputs: [],
    flipFlops: [],
    gates: gates.map((gate) => ({
      name: gate.out,
      type: (gate.type === "BUFF" ? "buf" : gate.type.toLowerCase()) as GateType,
      inputs: gate.in,
      output: gate.out,
    })),
  };
}
