/**
 * Fault lists, answers under every fault and first detections of the published netlists against the reference
 * pack: what was published, and what two other simulators found there.
 */
import { collapse, type FaultClasses } from "../../../src/logic/faults/collapse.ts";
import { faultName } from "../../../src/logic/faults/fault.ts";
import { faultList } from "../../../src/logic/faults/fault-list.ts";
import { faultDictionary } from "../../../src/logic/faults/patterns/dictionary.ts";
import {
  firstDetection,
  PatternFaults,
} from "../../../src/logic/faults/patterns/pattern-faults.ts";
import { patternSet } from "../../../src/logic/faults/patterns/pattern-set.ts";
import { Lanes } from "../../../src/logic/lanes/lanes.ts";
import { benchmarkCircuit } from "../../logic/reference-netlists.ts";
import c17 from "../../references/logic/c17.json" with { type: "json" };
import c432 from "../../references/logic/c432.json" with { type: "json" };
import c880 from "../../references/logic/c880.json" with { type: "json" };
import s27 from "../../references/logic/s27.json" with { type: "json" };
import type { FigureContext } from "../figure.ts";

export function faultFigures({ report, say }: FigureContext): void {
  const agree = (name: string, unit: string, pairs: readonly (readonly [unknown, unknown])[]) => {
    const equal = pairs.filter(([ours, reference]) => ours === reference).length;
    for (const [ours, reference] of pairs.filter((pair) => pair[0] !== pair[1]).slice(0, 5))
      say(`${name}: ours ${ours}, reference ${reference}`);
    report({
      name: `benchmarks ${name}`,
      value: (100 * equal) / pairs.length,
      unit: `% of ${pairs.length} ${unit}`,
      limit: "= 100",
      holds: pairs.length > 0 && equal === pairs.length,
    });
  };
  for (const reference of [c17, s27, c432, c880]) {
    const classes = collapse(faultList(benchmarkCircuit(reference.circuit)));
    const { published, recomputed } = reference;
    agree(`${reference.circuit} counts`, "counts of lines, faults and classes", [
      [classes.lines.lines.length, recomputed.lines],
      [classes.faults.length, recomputed.uncollapsed_faults],
      [classes.classes.length, published.collapsed_faults],
    ]);
    agree(
      `${reference.circuit} classes`,
      "classes, member by member",
      zipped(namesOf(classes).map(sorted), reference.classes.map(sorted)),
    );
  }
  agree("c17 dictionary", "classes, answer to each of 32 patterns", c17Answers());
  for (const reference of [c432, c880]) {
    const { answers, first } = firstVectors(reference);
    agree(`${reference.circuit} answers`, "vectors, without a fault", answers);
    agree(`${reference.circuit} detected sets`, "classes, first detecting vector", first);
  }
  for (const [name, run] of Object.entries(s27.sequence.runs)) {
    agree(
      `s27 detected sets, ${name}`,
      "cycles without a fault and classes, first detecting cycle",
      s27Cycles(run),
    );
  }
}

const sorted = (names: readonly string[]) => [...names].sort().join(" ");

function zipped<T>(ours: readonly T[], reference: readonly T[]): (readonly [unknown, unknown])[] {
  const count = Math.max(ours.length, reference.length);
  return Array.from({ length: count }, (_, index) => [ours[index], reference[index]]);
}

function namesOf({ circuit, classes, faults }: FaultClasses): string[][] {
  return classes.map((members) =>
    [...members].flatMap((member) => {
      const fault = faults[member];
      return fault ? [faultName(circuit, fault)] : [];
    }),
  );
}

function c17Answers(): (readonly [unknown, unknown])[] {
  const classes = collapse(faultList(benchmarkCircuit("c17")));
  const rows = c17.truth_table.rows.map(([inputs = ""]) => inputs);
  const { good, faulty } = faultDictionary(classes, patternSet(rows));
  const reference = new Map(
    c17.fault_dictionary.per_class.map((one) => [one.representative, one.response]),
  );
  return [
    [good.join(""), c17.fault_dictionary.fault_free],
    ...namesOf(classes).map(
      ([name = ""], index) => [faulty[index]?.join(""), reference.get(name)] as const,
    ),
  ];
}

function firstVectors({ circuit, vector_set, classes: named }: typeof c432 | typeof c880) {
  const classes = collapse(faultList(benchmarkCircuit(circuit)));
  const { netOf } = classes.circuit;
  const patterns = patternSet(vector_set.vectors);
  const found = new PatternFaults(classes).detect(patterns);
  const place = new Map(namesOf(classes).map(([name = ""], index) => [name, index]));
  const bit = (net: number, row: number) =>
    ((found.good[net * found.wordsEach + (row >> 5)] ?? 0) >>> row) & 1;
  const answers = vector_set.good_outputs.map((expected, row) => {
    const ours = vector_set.output_order.map((net) => bit(netOf.get(net) ?? -1, row)).join("");
    return [ours, expected] as const;
  });
  const first = named.map(([name = ""], index) => {
    // The reference says -1 where no vector of the set finds it.
    const ours = firstDetection(found, place.get(name) ?? -1) ?? -1;
    return [ours, vector_set.first_detecting_vector_per_class[index]] as const;
  });
  return { answers, first };
}

interface S27Run {
  readonly initial_state: string;
  readonly good_outputs: readonly string[];
  readonly first_detecting_cycle_per_class: readonly number[];
}

function s27Cycles(run: S27Run): (readonly [unknown, unknown])[] {
  const classes = collapse(faultList(benchmarkCircuit("s27")));
  const { circuit, faults } = classes;
  const { input_order, output_order, state_order, vectors } = s27.sequence;
  const numbers = (names: readonly string[]) => names.map((name) => circuit.netOf.get(name) ?? -1);
  const value = (sign: string | undefined) => (sign === "0" ? 1 : sign === "1" ? 2 : 3);
  const lanes = new Lanes(
    circuit,
    classes.classes.map(([first = -1]) => faults.slice(first, first + 1)),
  );
  const start = new Uint8Array(circuit.nets.length).fill(3);
  for (const [index, net] of numbers(state_order).entries())
    start[net] = value(run.initial_state[index]);
  lanes.startFrom(start);
  const inputs = numbers(input_order);
  const outputs = numbers(output_order);
  const first = classes.classes.map((): number | null => null);
  const answers = vectors.map((vector, cycle) => {
    lanes.step(Array.from(circuit.inputs, (net) => value(vector[inputs.indexOf(net)])));
    const { detected } = lanes.read(outputs);
    for (const index of first.keys()) {
      const lane = index + 1;
      const isSeen = ((detected[lane >> 5] ?? 0) >>> lane) & 1;
      if (isSeen === 1) first[index] ??= cycle;
    }
    const answer = outputs.map((net) => "?01X"[lanes.value(net)]).join("");
    lanes.clock();
    return answer;
  });
  const place = new Map(namesOf(classes).map(([name = ""], index) => [name, index]));
  return [
    ...zipped(answers, run.good_outputs),
    ...s27.classes.map(
      ([name = ""], index) =>
        [first[place.get(name) ?? -1], run.first_detecting_cycle_per_class[index]] as const,
    ),
  ];
}
