import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import { type Board, loadBoard } from "../../../src/formats/board.schema.ts";
import { documentOf } from "../../../src/formats/load-document.ts";
import { compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { boardLogic } from "../../../src/logic/netlist/from-board.ts";
import { netlistProblems } from "../../../src/logic/netlist/netlist-problems.ts";

const text = readFileSync("sequences/flasher-latch/board.yaml", "utf8");
const latch = documentOf(loadBoard(text, "board.yaml")).value;

type Stages = Board["stages"];

/** A part of a circuit file, of whatever kind. */
type Part = Partial<Record<"part" | "from" | "to" | "anode" | "cathode" | "grid", string>>;

function withStages(stages: Stages, more: Partial<Board> = {}): Board {
  return { ...latch, stages, ...more };
}

describe("boardLogic", () => {
  it("makes a gate of each stage, named as the stage, with the connector's lines as inputs", () => {
    const { netlist, lines, unknownNets, problems } = boardLogic(latch);
    expect(netlist).toEqual({
      name: "flasher-latch",
      inputs: ["SET", "RESET"],
      outputs: ["QN", "Q"],
      gates: [
        { name: "V1a", type: "nor", inputs: ["SET", "Q"], output: "QN" },
        { name: "V1b", type: "nor", inputs: ["RESET", "QN"], output: "Q" },
      ],
      flipFlops: [],
    });
    expect([lines, unknownNets, problems]).toEqual([["SET", "RESET"], [], []]);
  });

  it("compiles every shipped board, with nothing unknown and its slow stages marked", () => {
    for (const name of [
      "flasher-latch",
      "sector-latch",
      "watch-adder",
      "fog-divider",
      "blast-ring",
    ]) {
      const path = `sequences/${name}/board.yaml`;
      const shipped = documentOf(loadBoard(readFileSync(path, "utf8"), path)).value;
      const logic = boardLogic(shipped);
      expect([logic.problems, netlistProblems(logic.netlist)]).toEqual([[], []]);
      const circuit = compileCircuit(logic.netlist);
      expect(circuit.netlist.gates).toHaveLength(Object.keys(shipped.stages).length);
      const slow = circuit.netlist.gates.filter((_, gate) => circuit.slow[gate] === 1);
      expect(slow.map(({ output }) => output)).toEqual(name === "fog-divider" ? ["MS", "MR"] : []);
    }
  });

  it("keeps a stage of unknown type as an unknown net, and models the rest", () => {
    const { V1a, V1b } = latch.stages;
    if (!V1a || !V1b) throw new Error("the latch has two stages");
    const board = withStages({
      V1a,
      V1b,
      V2a: { ...V1a, type: "follower", inputs: ["Q"], output: "F" },
      V2b: { ...V1a, type: "nor", inputs: ["F", "SET"], output: "G" },
    });
    const { netlist, lines, unknownNets, problems } = boardLogic(board);
    expect(lines).toEqual(["SET", "RESET"]);
    expect(unknownNets).toEqual(["F"]);
    expect(netlist.inputs).toEqual(["SET", "RESET", "F"]);
    expect(netlist.gates.map(({ name }) => name)).toEqual(["V1a", "V1b", "V2b"]);
    expect(netlistProblems(netlist)).toEqual([]);
    expect(problems).toMatchObject([
      { kind: "unknown stage", net: "F", path: ["stages", "V2a", "type"], stages: ["V2a"] },
    ]);
  });

  it("takes no word a program has by itself for a kind of stage", () => {
    const board = withStages({
      V1a: { type: "constructor", position: "V1", section: "a", inputs: ["SET"], output: "Q" },
    });
    expect(boardLogic(board).problems).toMatchObject([{ kind: "unknown stage" }]);
  });

  it("joins sections that share a plate: low if either is low", () => {
    const board = withStages({
      V1a: { type: "not", position: "V1", section: "a", inputs: ["SET"], output: "Q" },
      V1b: {
        type: "not",
        position: "V1",
        section: "b",
        inputs: ["RESET"],
        output: "Q",
        sharesPlate: true,
      },
    });
    const { netlist, problems } = boardLogic(board);
    expect(problems).toEqual([]);
    expect(netlist.outputs).toEqual(["Q"]);
    expect(netlist.gates).toEqual([
      { name: "V1a", type: "not", inputs: ["SET"], output: "V1a.Q" },
      { name: "V1b", type: "not", inputs: ["RESET"], output: "V1b.Q" },
      { name: "Q.plate", type: "and", inputs: ["V1a.Q", "V1b.Q"], output: "Q" },
    ]);
  });

  it("takes two stages on one net for a mistake where none says that it shares the plate", () => {
    const board = withStages({
      V1a: { type: "not", position: "V1", section: "a", inputs: ["SET"], output: "Q" },
      V1b: { type: "not", position: "V1", section: "b", inputs: ["RESET"], output: "Q" },
    });
    expect(boardLogic(board).problems).toMatchObject([
      { kind: "shorted outputs", path: ["stages", "V1b", "output"], stages: ["V1a", "V1b"] },
    ]);
  });

  it("names a diode gate that is joined with another output as shorted, at its place", () => {
    const board = withStages({
      V1a: { type: "not", position: "V1", section: "a", inputs: ["SET"], output: "Q" },
      D1: { type: "diode-or", inputs: ["SET", "RESET"], output: "Q" },
    });
    const { problems, unknownNets } = boardLogic(board);
    expect(problems).toMatchObject([{ kind: "shorted outputs", path: ["stages", "D1", "output"] }]);
    expect(unknownNets).toEqual(["Q"]);
  });

  it("names what nothing drives, what takes too many, and what is not there to be observed", () => {
    const board = withStages({
      V1a: { type: "nor", position: "V1", section: "a", inputs: ["SET", "LOST"], output: "QN" },
      V1b: { type: "not", position: "V1", section: "b", inputs: ["RESET", "QN"], output: "Q" },
    });
    const { netlist, problems, unknownNets } = boardLogic(board, ["Q", "NOWHERE"]);
    expect(problems.map(({ kind, path }) => [kind, path.join(".")])).toEqual([
      ["wrong input count", "stages.V1b.inputs"],
      ["floating input", "stages.V1a.inputs.1"],
      ["no such output", ""],
    ]);
    expect(unknownNets).toEqual(["Q", "LOST"]);
    expect(netlistProblems(netlist)).toEqual([]);
  });

  it("finds on the shipped boards, by names and joints of the circuit file, the parts the board file names", () => {
    for (const name of [
      "flasher-latch",
      "sector-latch",
      "watch-adder",
      "fog-divider",
      "blast-ring",
    ]) {
      const read = (file: string) => parse(readFileSync(`sequences/${name}/${file}`, "utf8"));
      const parts: Part[] = read("circuit.yaml").parts;
      const part = (wanted: string): Part => parts.find((one) => one.part === wanted) ?? {};
      for (const [stage, facts] of Object.entries<Stages[string]>(read("board.yaml").stages)) {
        const found = facts.parts;
        if (!found?.inputs || !found.load || !found.gridReturn)
          throw new Error(`${stage} has no parts`);
        const section = part(String(found.section));
        expect(section).toMatchObject({ kind: "triode", plate: facts.output, tube: facts.tube });
        expect(part(found.load)).toMatchObject({
          use: "plate load",
          from: "plate",
          to: facts.output,
        });
        expect(part(found.gridReturn)).toMatchObject({ use: "grid return", from: section.grid });
        expect(Object.keys(found.inputs)).toEqual(facts.inputs);
        const joint = found.coupling === undefined ? section.grid : part(found.coupling).from;
        if (found.coupling !== undefined) {
          expect(part(found.coupling)).toMatchObject({ use: "coupling", to: section.grid });
        }
        for (const [input, feeds] of Object.entries(found.inputs)) {
          const { from, anode, to, cathode } = part(feeds);
          expect([stage, from ?? anode, to ?? cathode]).toEqual([stage, input, joint]);
        }
      }
    }
  });
});
