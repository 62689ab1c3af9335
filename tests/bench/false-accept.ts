/**
 * How often a board passes whose net truly stands at its limit or beyond it, by how much: boards read by
 * random rigs and judged by the program's own rule, guarded by w = U.
 */
import { judgeReading } from "../../src/verdict/judge.ts";
import type { FigureContext } from "./figure.ts";
import { quickChance } from "./uncertainty/quick-chance.ts";
import { ALL_ERRORS, randomRig } from "./uncertainty/random-rig.ts";
import { contractOf, GUARDED, readWith, watchOf } from "./uncertainty/read-with.ts";

const TRIALS = 10_000;
const TRIALS_FULL = 100_000;
/** Beyond the limit, in units of the U that a reading at the limit has. */
const DISTANCES_U = [0, 0.1, 0.25, 0.5, 1, 2];
const ALLOWED = 0.025;

export async function figure({ full, report }: FigureContext): Promise<void> {
  const trials = full ? TRIALS_FULL : TRIALS;
  for (const distanceU of DISTANCES_U) {
    for (const expected of ["low", "high"] as const) {
      const share = passing(expected, distanceU, trials);
      report({
        name: `false-accept, a ${expected} ${distanceU === 0 ? "at its limit" : `${distanceU} U beyond its limit`}`,
        value: Number((100 * share).toFixed(3)),
        unit: `% of ${trials} boards pass, each read by another rig`,
        limit: "<= 2.5",
        holds: share <= ALLOWED,
      });
    }
  }
  const inside = passing("low", -3, trials);
  report({
    name: "false-accept, for comparison: a low 3 U inside its limit passes",
    value: Number((100 * inside).toFixed(3)),
    unit: `% of ${trials} boards`,
    limit: ">= 99",
    holds: inside >= 0.99,
  });
}

/** Share of boards at this distance beyond the limit, in units of their U, that pass. */
export function passing(expected: "low" | "high", distanceU: number, trials: number): number {
  let passed = 0;
  for (let seed = 1; seed <= trials; seed += 1) {
    const rig = randomRig(ALL_ERRORS, quickChance(`accept ${expected} ${seed}`));
    const watch = watchOf(rig);
    const contract = contractOf(rig);
    const limitV = expected === "low" ? contract.volV : contract.vohV;
    // One reading at the limit tells how large U is there; it is not judged.
    const { expandedV = 0 } = readWith(watch, rig.read(limitV));
    const beyond = distanceU * expandedV * (expected === "low" ? 1 : -1);
    const reading = readWith(watch, rig.read(limitV + beyond));
    const { result } = judgeReading(reading, expected, { contract, rule: GUARDED });
    if (result === "pass") passed += 1;
  }
  return passed / trials;
}
