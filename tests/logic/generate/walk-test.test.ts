import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { loadBoard } from "../../../src/formats/board.schema.ts";
import { documentOf } from "../../../src/formats/load-document.ts";
import { collapse } from "../../../src/logic/faults/collapse.ts";
import { type Fault, faultName } from "../../../src/logic/faults/fault.ts";
import { faultList } from "../../../src/logic/faults/fault-list.ts";
import { type WalkTask, type WalkTest, walkTest } from "../../../src/logic/generate/walk-test.ts";
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { boardLogic } from "../../../src/logic/netlist/from-board.ts";
import { everyFault, randomNetlists } from "../lanes/random-netlists.ts";
import { SlowTernary, type Ternary, type Values } from "../lanes/slow-ternary.ts";
import { benchmarkCircuit } from "../reference-netlists.ts";

function taskOf(circuit: Circuit, lineCount = circuit.inputs.length): WalkTask {
  const { classes, faults } = collapse(faultList(circuit));
  return {
    circuit,
    lineCount,
    observed: [...circuit.outputs],
    faults: classes.map((members) => faults[members[0] ?? -1] as Fault),
    seed: 1,
    stepsMost: 200,
  };
}

function shippedBoard(name: string): Circuit {
  const file = `sequences/${name}/board.yaml`;
  const board = documentOf(loadBoard(readFileSync(file, "utf8"), file)).value;
  return compileCircuit(boardLogic(board).netlist);
}

const inputValues = ({ netlist }: Circuit, vector: ArrayLike<number>): Values =>
  new Map(
    netlist.inputs.map((net, at) => [net, (["X", "0", "1"] as const)[vector[at] ?? 0] ?? "X"]),
  );

/** Readings of one faulty copy, step by step, the plain way; nets of the faultless copy beside them. */
function replay({ circuit, observed }: WalkTask, faults: readonly Fault[], { vectors }: WalkTest) {
  const copy = new SlowTernary(circuit.netlist, faults, new Map());
  return vectors.map((vector) => {
    copy.step(inputValues(circuit, vector));
    const read = observed.map((net) => copy.reading(circuit.nets[net] ?? ""));
    const all = [...copy.values.values()];
    if (circuit.flipFlopData.length > 0) copy.clock();
    return { read, all };
  });
}

const surelyUnlike = (good: readonly Ternary[], bad: readonly Ternary[]) =>
  good.some((value, at) => value !== "X" && bad[at] !== "X" && bad[at] !== value);

function checkClaims(task: WalkTask, test: WalkTest): void {
  const good = replay(task, [], test);
  for (const [index, fault] of task.faults.entries()) {
    const bad = replay(task, [fault], test);
    const shows = good.findIndex(({ read }, step) => surelyUnlike(read, bad[step]?.read ?? []));
    expect(test.foundBy[index], faultName(task.circuit, fault)).toBe(shows);
  }
  if (task.circuit.flipFlopData.length > 0) return;
  for (const [step, { all }] of good.entries()) {
    const before = good[step - 1]?.all ?? [];
    const lost = all.filter((value, net) => value === "X" && (before[net] ?? "X") !== "X");
    expect(lost, `nets lost in step ${step}`).toEqual([]);
  }
}

/** Whether any walk at all shows a fault, every vector tried from every place, the plain way. */
function everShown({ circuit, observed }: WalkTask, fault: Fault): "surely" | "maybe" | "never" {
  const { netlist } = circuit;
  const vectors = Array.from({ length: 2 ** netlist.inputs.length }, (_, bits) =>
    netlist.inputs.map((__, line) => ((bits >> line) & 1) + 1),
  );
  let maybe = false;
  const seen = new Set<string>();
  const queue: Values[][] = [[new Map(), new Map()]];
  for (const [goodAt = new Map(), badAt = new Map()] of queue) {
    for (const vector of vectors) {
      const good = new SlowTernary(netlist, [], goodAt);
      const bad = new SlowTernary(netlist, [fault], badAt);
      const before = good.values;
      good.step(inputValues(circuit, vector));
      bad.step(inputValues(circuit, vector));
      if ([...good.values].some(([net, value]) => value === "X" && before.get(net) !== "X"))
        continue;
      const reading = (copy: SlowTernary) =>
        observed.map((net) => copy.reading(circuit.nets[net] ?? ""));
      if (surelyUnlike(reading(good), reading(bad))) return "surely";
      maybe ||= reading(good).some((value, at) => value !== "X" && reading(bad)[at] === "X");
      const key = [...good.values.values(), ...bad.values.values()].join("");
      if (seen.has(key)) continue;
      seen.add(key);
      queue.push([good.values, bad.values]);
    }
  }
  return maybe ? "maybe" : "never";
}

describe("walkTest", () => {
  it("finds all 32 faults of s27 from an unknown state", () => {
    const task = taskOf(benchmarkCircuit("s27"));
    const test = walkTest(task);
    // 32 collapsed faults, all of them found by a walk from an unknown state: tests/references/logic/s27.json.
    expect(task.faults).toHaveLength(32);
    expect([...test.foundBy]).not.toContain(-1);
    checkClaims(task, test);
  });

  it.each(["flasher-latch", "sector-latch", "fog-divider"])(
    "shows every fault of %s by steps that end where they must",
    (name) => {
      const task = taskOf(shippedBoard(name));
      const test = walkTest(task);
      expect([...test.foundBy]).not.toContain(-1);
      checkClaims(task, test);
    },
  );

  it("shows what can be shown of blast-ring, and says which faults leave the ring to chance", () => {
    const task = taskOf(shippedBoard("blast-ring"));
    const test = walkTest(task);
    checkClaims(task, test);
    expect(test.untestable).toEqual([]);
    expect(test.notFound).toEqual([]);
    const unsure = test.unsure.map((fault) => faultName(task.circuit, task.faults[fault] as Fault));
    expect(unsure).toContain("HOME/0");
    for (const fault of test.unsure) expect(test.possiblyBy[fault]).toBeGreaterThanOrEqual(0);
  });

  it("gives the same walk for the same seed", () => {
    const task = taskOf(shippedBoard("fog-divider"));
    expect(walkTest(task)).toEqual(walkTest(task));
  });

  it("calls a fault untestable exactly where every walk was tried in vain, the plain way too", () => {
    const counted = { surely: 0, maybe: 0, never: 0 };
    fc.assert(
      fc.property(
        randomNetlists({ gatesMost: 5, flipFlopsMost: 0, slow: true }).filter(
          ({ inputs }) => inputs.length <= 2,
        ),
        (netlist) => {
          const circuit = compileCircuit(netlist);
          const task = { ...taskOf(circuit), faults: everyFault(circuit) };
          const test = walkTest(task);
          checkClaims(task, test);
          for (const [index, fault] of task.faults.entries()) {
            const shown = everShown(task, fault);
            counted[shown] += 1;
            const says = test.untestable.includes(index)
              ? "never"
              : test.unsure.includes(index)
                ? "maybe"
                : "surely";
            if (test.notFound.some((one) => one.fault === index)) continue;
            expect(says, faultName(circuit, fault)).toBe(shown);
          }
        },
      ),
      { numRuns: 40, seed: 27 },
    );
    expect(counted.surely).toBeGreaterThan(200);
    expect(counted.never).toBeGreaterThan(100);
    expect(counted.maybe).toBeGreaterThan(10);
  });
});
