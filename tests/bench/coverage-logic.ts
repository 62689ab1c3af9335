/**
 * What generated tests reach: every testable fault of the shipped boards, and of the benchmark circuits as
 * many as are known to be testable, in how many steps beside the vectors published with them.
 */
import { readFileSync } from "node:fs";
import {
  factsOf,
  faultsToFind,
  type TestFacts,
} from "../../src/logic/generate/board/board-test.ts";
import { circuitTest } from "../../src/logic/generate/circuit-test.ts";
import { benchmarkCircuit } from "../logic/reference-netlists.ts";
import type { FigureContext } from "./figure.ts";
import { shippedBoards, shippedTest } from "./logic/shipped-test.ts";

/** Published with the circuits, or recomputed by other programs: tests/references/logic. */
interface Reference {
  readonly recomputed: {
    readonly untestable_collapsed_faults: number;
    readonly testable_collapsed_faults: number;
  };
  readonly vector_set?: { readonly vectors: readonly string[] };
  readonly derived?: { readonly minimum_complete_test_set_size?: number };
}

export async function figure(context: FigureContext): Promise<void> {
  for (const name of shippedBoards()) {
    const { facts } = await shippedTest(name);
    const testable = facts.faults - facts.untestable.length - facts.unsure.length;
    reportShare(context, name, facts, { testable, leastPercent: 100 });
    if (facts.unsure.length > 0)
      context.say(
        `${name}: left to chance, a step may show each, none can surely: ${facts.unsure.join(", ")}`,
      );
  }
  for (const name of ["c17", "c432", "c880"]) {
    const reference = referenceOf(name);
    const facts = benchmarkFacts(name);
    const { testable_collapsed_faults: testable, untestable_collapsed_faults: untestable } =
      reference.recomputed;
    reportShare(context, name, facts, { testable, leastPercent: 99.5 });
    context.report({
      name: `coverage-logic ${name} proved untestable`,
      value: facts.untestable.length,
      unit: "classes of faults",
      limit: `= ${untestable}, as two solvers of others have it`,
      holds: facts.untestable.length === untestable,
    });
    const published =
      reference.derived?.minimum_complete_test_set_size ??
      reference.vector_set?.vectors.length ??
      0;
    context.report({
      name: `coverage-logic ${name} vectors`,
      value: facts.steps,
      unit: `vectors; beside it ${published}${name === "c17" ? ", the fewest there can be" : ""}`,
      limit: `<= ${published}`,
      holds: facts.steps <= published,
    });
  }
  // 32 classes, all of them found from an unknown state: tests/references/logic/s27.json.
  reportShare(context, "s27", benchmarkFacts("s27"), { testable: 32, leastPercent: 100 });
}

function benchmarkFacts(name: string): TestFacts {
  const circuit = benchmarkCircuit(name);
  const task = {
    circuit,
    lineCount: circuit.inputs.length,
    observed: [...circuit.outputs],
    faults: faultsToFind(circuit),
    seed: 1,
    stepsMost: 500,
  };
  return factsOf(task, circuitTest(task));
}

function referenceOf(name: string): Reference {
  const file = new URL(`../references/logic/${name}.json`, import.meta.url);
  return JSON.parse(readFileSync(file, "utf8")) as Reference;
}

function reportShare(
  { report }: FigureContext,
  name: string,
  { found, steps, unsure, resolution }: TestFacts,
  { testable, leastPercent }: { testable: number; leastPercent: number },
): void {
  const value = Number(((100 * found) / testable).toFixed(2));
  const chanced = unsure.length > 0 ? `, ${unsure.length} more left to chance by the board` : "";
  const apart = ((100 * resolution.pairsApart) / resolution.pairs).toFixed(1);
  report({
    name: `coverage-logic ${name}`,
    value,
    unit: `% of ${testable} testable classes of faults${chanced}, in ${steps} steps; ${apart} % of pairs apart`,
    limit: `>= ${leastPercent}`,
    holds: value >= leastPercent,
  });
}
