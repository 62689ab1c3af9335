/** A test for any circuit: vectors where it keeps no state, else a walk. */
import { combinationalTest } from "./combinational.ts";
import { type WalkTask, type WalkTest, walkTest } from "./walk-test.ts";

/** @param task whose `observed` nets are read after each step */
export function circuitTest(task: WalkTask): WalkTest {
  const { circuit, faults, observed, lineCount, stepsMost, seed } = task;
  const keepsState = circuit.loops.length > 0 || circuit.flipFlopData.length > 0;
  if (keepsState || lineCount < circuit.inputs.length) return walkTest(task);
  const test = combinationalTest({ circuit, faults, observed, seed });
  const vectors = test.vectors.slice(0, stepsMost);
  const foundBy = test.foundBy.map((step) => (step < vectors.length ? step : -1));
  const late = [...test.foundBy.keys()].filter((fault) => test.foundBy[fault] !== foundBy[fault]);
  return {
    vectors,
    foundBy,
    possiblyBy: new Int32Array(faults.length).fill(-1),
    untestable: test.untestable,
    unsure: [],
    notFound: [...test.undecided, ...late].map((fault) => ({ fault, places: 0 })),
  };
}
