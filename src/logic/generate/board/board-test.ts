/** A board's test and its sequence, from what is known of board and rig. */
import type { Board } from "../../../formats/board.schema.ts";
import { collapse } from "../../faults/collapse.ts";
import { type Fault, faultName } from "../../faults/fault.ts";
import { faultList } from "../../faults/fault-list.ts";
import { partFaults } from "../../faults/parts/part-faults.ts";
import { type Circuit, compileCircuit } from "../../netlist/circuit.ts";
import { boardLogic } from "../../netlist/from-board.ts";
import { chance } from "../chance.ts";
import { circuitTest } from "../circuit-test.ts";
import { type Resolution, resolutionOf } from "../resolution.ts";
import type { WalkTask, WalkTest } from "../walk-test.ts";
import { type BoardSequence, type BoardTimes, boardSequence } from "./board-sequence.ts";
import { type PartSteps, partSteps } from "./part-steps.ts";

export interface BoardTestTask {
  readonly board: Board;
  /** Nets the rig has a channel on; all stage outputs when there is no rig. */
  readonly read: readonly string[] | null;
  /** Loads the rig can connect. */
  readonly loads: readonly string[];
  /** Lines that go together on one write, without a contact that bounces. */
  readonly instantLines: readonly string[];
  /** Lines driven by contacts that bounce; every line when nobody knows. */
  readonly contactLines: readonly string[] | null;
  readonly times: BoardTimes;
  readonly seed: number;
  readonly stepsMost: number;
}

/** What a test finds, faults by name. */
export interface TestFacts {
  readonly faults: number;
  readonly found: number;
  readonly steps: number;
  /** Left to chance: proved that no walk shows them in every case. */
  readonly unsure: readonly string[];
  /** Proved that no walk shows them. */
  readonly untestable: readonly string[];
  readonly notFound: readonly { readonly fault: string; readonly places: number }[];
  readonly resolution: Resolution;
}

export interface BoardTest extends BoardSequence {
  readonly test: WalkTest;
  readonly facts: TestFacts;
  /** What it finds of the trade's faults of parts. */
  readonly parts: PartSteps;
  /** What of the board is not modelled, in words; its nets are unknown to the test. */
  readonly notModelled: readonly string[];
}

/** One fault of each class that no test tells apart. */
export function faultsToFind(circuit: Circuit): Fault[] {
  const { classes, faults } = collapse(faultList(circuit));
  return classes.flatMap((members) => faults[members[0] ?? -1] ?? []);
}

export function factsOf(task: WalkTask, test: WalkTest): TestFacts {
  const { circuit, faults } = task;
  const name = (index: number) => {
    const fault = faults[index];
    return fault ? faultName(circuit, fault) : "?";
  };
  return {
    faults: faults.length,
    found: test.foundBy.filter((step) => step >= 0).length,
    steps: test.vectors.length,
    unsure: test.unsure.map(name),
    untestable: test.untestable.map(name),
    notFound: test.notFound.map(({ fault, places }) => ({ fault: name(fault), places })),
    resolution: resolutionOf(task, faults, test.vectors),
  };
}

export function boardTest(task: BoardTestTask): BoardTest {
  const { board, read, loads, times, seed, stepsMost } = task;
  const outputs = new Set(Object.values(board.stages).map(({ output }) => output));
  const logic = boardLogic(
    board,
    read?.filter((net) => outputs.has(net)),
  );
  const circuit = compileCircuit(logic.netlist);
  const numbers = (lines: readonly string[]) =>
    lines.map((line) => logic.lines.indexOf(line)).filter((line) => line >= 0);
  const subject = {
    circuit,
    lineCount: logic.lines.length,
    observed: [...new Set(circuit.outputs)],
    bouncing: numbers(task.contactLines ?? logic.lines).filter(
      (line) => !board.steadyLines?.includes(logic.lines[line] ?? ""),
    ),
  };
  const walkTask = { ...subject, faults: faultsToFind(circuit), seed, stepsMost };
  const walk = circuitTest(walkTask);
  const parts = partSteps(subject, walk.vectors, partFaults(board, logic, circuit), {
    stepsMost,
    next: chance(seed),
  });
  const test = { ...walk, vectors: [...walk.vectors, ...parts.added] };
  const facts = factsOf(walkTask, test);
  const made = boardSequence({
    subject,
    test,
    board: board.board,
    sequence: `${board.board}-generated`.slice(0, NAME_LENGTH_MAX),
    lines: logic.lines,
    loads,
    instantLines: numbers(task.instantLines),
    times,
    seed,
    notes: notesOf(facts, parts, seed),
  });
  return { ...made, test, facts, parts, notModelled: logic.problems.map(({ reason }) => reason) };
}

/** As the format has it. */
const NAME_LENGTH_MAX = 48;

function notesOf(
  { faults, found, steps, unsure, untestable, notFound }: TestFacts,
  { modelled, shown, chanced, missed }: PartSteps,
  seed: number,
) {
  const rest = [
    `They show ${shown} of the ${modelled} faults of parts that logic can follow.`,
    ...(chanced.length > 0
      ? [`Shown or not, as parts will have it: ${chanced.map(({ text }) => text).join("; ")}.`]
      : []),
    ...(missed.length > 0 ? [`Not shown: ${missed.map(({ text }) => text).join("; ")}.`] : []),
    ...(unsure.length > 0
      ? [`Left to chance by the board itself, shown or not: ${unsure.join(", ")}.`]
      : []),
    ...(untestable.length > 0 ? [`No walk shows: ${untestable.join(", ")}.`] : []),
    ...(notFound.length > 0
      ? [`Not found, which proves nothing: ${notFound.map(({ fault }) => fault).join(", ")}.`]
      : []),
  ];
  return [
    `Generated from the board's stages, seed ${seed}. The first ${steps} steps show ${found} of ${faults} classes of stuck-at faults.`,
    ...rest,
  ].join("\n");
}
