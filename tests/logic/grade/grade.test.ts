/** Grading against the reference pack, and on the shipped latch as a person would ask. */
import { describe, expect, it } from "vitest";
import { collapse } from "../../../src/logic/faults/collapse.ts";
import { faultList } from "../../../src/logic/faults/fault-list.ts";
import { partFaults } from "../../../src/logic/faults/parts/part-faults.ts";
import type { GradeStop } from "../../../src/logic/grade/fault-machines.ts";
import { type Grade, grade } from "../../../src/logic/grade/grade.ts";
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { boardLogic } from "../../../src/logic/netlist/from-board.ts";
import c432 from "../../references/logic/c432.json" with { type: "json" };
import s27 from "../../references/logic/s27.json" with { type: "json" };
import { shippedBoard } from "../../simulate/fixture/step-through.ts";
import { benchmarkCircuit } from "../reference-netlists.ts";

const classesOf = (circuit: Circuit) => collapse(faultList(circuit));

function patternStops(
  order: readonly string[],
  vectors: readonly string[],
  reads: readonly string[],
  clocksAfter = 0,
): GradeStop[] {
  return vectors.map((vector, index) => ({
    label: `pattern ${index}`,
    set: Object.fromEntries(order.map((net, at) => [net, vector[at] === "1" ? "high" : "low"])),
    reads,
    clocksAfter,
  }));
}

const gradeOf = (circuit: Circuit, stops: readonly GradeStop[]) =>
  grade({ classes: classesOf(circuit), parts: [], stops, atRest: {} });

const firstStops = ({ classes }: Grade) =>
  new Map(classes.map(({ names: [name = ""], first }) => [name, first?.stop ?? null]));

describe("grade of s27", () => {
  it("finds each class from an unknown state in the published cycle", () => {
    const { input_order, output_order, vectors, runs } = s27.sequence;
    const graded = gradeOf(
      benchmarkCircuit("s27"),
      patternStops(input_order, vectors, output_order, 1),
    );
    const expected = s27.classes.map(([name = ""], index) => [
      name,
      runs.all_x.first_detecting_cycle_per_class[index],
    ]);
    expect([...firstStops(graded)]).toEqual(expected);
    expect(graded.classes.every(({ outcome }) => outcome === "detected")).toBe(true);
  });
});

describe("grade of c432", () => {
  it("calls the four faults untestable that two solvers proved, and no other", () => {
    const { input_order, output_order, vectors } = c432.vector_set;
    const graded = gradeOf(
      benchmarkCircuit("c432"),
      patternStops(input_order, vectors, output_order),
    );
    const untestable = graded.classes.filter(({ outcome }) => outcome === "untestable");
    expect(untestable.map(({ names: [name] }) => name)).toEqual(c432.recomputed.untestable);
    expect(graded.classes.filter(({ outcome }) => outcome === "detected")).toHaveLength(520);
  });
});

const latch = shippedBoard("flasher-latch").board;
const step = (label: string, set: GradeStop["set"], reads: readonly string[] = ["Q", "QN"]) => ({
  label,
  set,
  reads,
});

function gradeLatch(stops: readonly GradeStop[], board = latch): Grade {
  const logic = boardLogic(board, ["Q", "QN"]);
  const circuit = compileCircuit(logic.netlist);
  const parts = partFaults(board, logic, circuit);
  return grade({ classes: classesOf(circuit), parts, stops, atRest: {} });
}

const gradedPart = ({ parts }: Grade, part: string, kind: string) =>
  parts.find(({ fault }) => fault.part === part && fault.kind === kind);

describe("grade of the shipped latch", () => {
  const set = step("set", { SET: "high", RESET: "low" });
  const reset = step("reset", { SET: "low", RESET: "high" });
  const held = (of: string) => step(`${of}, held`, { SET: "low", RESET: "low" });
  const both = step("both", { SET: "high", RESET: "high" });

  it("finds every fault of its parts by both states, both held, and both inputs", () => {
    const graded = gradeLatch([
      ...[reset, both, reset, held("reset")],
      ...[set, both, set, held("set"), reset, held("reset again")],
    ]);
    const open = graded.parts.filter(({ outcome }) => outcome !== "detected");
    // What a line held high and a plate that conducts come to is the rig's affair, not known to logic.
    expect(open.map(({ fault, outcome }) => [fault.part, fault.kind, outcome])).toEqual([
      ["D2", "input shorted", "possibly detected"],
      ["D4", "input shorted", "possibly detected"],
      ["RESET and SET", "nets bridged", "possibly detected"],
    ]);
    expect(open[0]?.reason).toBe(
      "a line held high pulls against what is low: Q and QN may read between the levels, or as without the fault",
    );
  });

  it("says that without a hold nothing would notice an open feedback diode, and what masks it", () => {
    // V1a is NOR of SET and Q: while SET is high it decides alone, and when it is low Q is low too.
    const graded = gradeLatch([reset, set]);
    const diode = latch.stages["V1a"]?.parts?.inputs?.["Q"] ?? "";
    const found = gradedPart(graded, diode, "feedback open");
    expect(found).toMatchObject({
      outcome: "undetected",
      reason: "masked at V1a: whenever it matters, SET high decides alone",
    });
  });

  it("names three of many nets in a reason, and all of them beside it", () => {
    const stages = Array.from({ length: 12 }, (_, at) => ({
      name: `V${at + 1}`,
      type: "not" as const,
      inputs: [at === 0 ? "A" : `M${at}`],
      output: `M${at + 1}`,
    }));
    const outputs = stages.map(({ output }) => output);
    const chain = { name: "chain", inputs: ["A", "B"], outputs, flipFlops: [] };
    const gates = [...stages, { name: "V13", type: "buf" as const, inputs: ["B"], output: "OUT" }];
    const circuit = compileCircuit({ ...chain, gates });
    const { classes } = gradeOf(circuit, [
      { label: "A high", set: { A: "high", B: "low" }, reads: ["OUT"] },
      { label: "A low", set: { A: "low" }, reads: ["M12"] },
      { label: "A high again", set: { A: "high" }, reads: ["OUT"] },
    ]);
    // M12 is read only while A is low anyway.
    const stuckLow = classes.find(({ names }) => names.includes("A/0"));
    expect(stuckLow).toMatchObject({
      outcome: "undetected",
      unread: ["A", ...outputs],
      reason: "it changes A, M1, M2 and 10 more at A high, which nothing reads then",
    });
  });

  it("tells a net that never takes the other level, and an effect that nothing reads", () => {
    const graded = gradeLatch([step("reset", { SET: "low", RESET: "high" }, ["Q"])]);
    expect(gradedPart(graded, "V1a", "section conducting")).toMatchObject({
      outcome: "undetected",
      reason: "it changes QN at reset, which nothing reads then",
    });
    expect(gradedPart(graded, "V1a", "no emission")).toMatchObject({
      outcome: "undetected",
      reason: "never excited: QN is never low for sure",
    });
    expect(gradedPart(graded, "V1b", "no emission")).toMatchObject({
      outcome: "detected",
      first: { stop: 0, label: "reset", nets: ["Q"] },
    });
  });

  it("calls a fault possibly detected that leaves a net unknown", () => {
    // The section of Q always cut off: QN low holds nothing, and from power-up the good latch is set.
    const graded = gradeLatch([set, held("set")]);
    const setDiode = latch.stages["V1a"]?.parts?.inputs?.["SET"] ?? "";
    expect(gradedPart(graded, setDiode, "input open")).toMatchObject({
      outcome: "possibly detected",
      perhaps: ["Q", "QN"],
    });
  });

  it("calls faults untestable when no net that is read hangs on them", () => {
    const adder = shippedBoard("watch-adder").board;
    const logic = boardLogic(adder, ["SUM"]);
    const circuit = compileCircuit(logic.netlist);
    const graded = grade({
      classes: classesOf(circuit),
      parts: partFaults(adder, logic, circuit),
      stops: [step("neither", { A: "low", B: "low" }, ["SUM"])],
      atRest: {},
    });
    expect(gradedPart(graded, "V3b", "no emission")).toMatchObject({
      outcome: "untestable",
      reason: "no net that is read hangs on CARRYN there",
    });
  });
});
