/**
 * How often the stated 95 % interval holds the truth: readings of random rigs whose true volts the
 * program never sees, for each way in which a rig is off alone and for all of them together.
 */
import type { FigureContext } from "./figure.ts";
import { quickChance } from "./uncertainty/quick-chance.ts";
import { ALL_ERRORS, type ErrorSizes, NO_ERRORS, randomRig } from "./uncertainty/random-rig.ts";
import { readWith, watchOf } from "./uncertainty/read-with.ts";

const READINGS_A_RIG = 10;
const RIGS = 2000;
const RIGS_FULL = 20_000;

const ALONE: Readonly<Record<string, Partial<ErrorSizes>>> = {
  quantisation: {},
  noise: { noiseSteps: 3 },
  divider: { resistorPart: 0.01 },
  "reference, not measured": { referencePart: 0.05 },
  "reference, measured": { referencePart: 0.09, sourcePart: 0.004 },
  converter: { linearitySteps: 2 },
  temperature: { perK: 200e-6, spanK: 15 },
  hum: { humV: 0.5 },
  loading: { loadPart: 0.2 },
  ground: { groundV: 0.2 },
};

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const rigs = full ? RIGS_FULL : RIGS;
  for (const [name, sizes] of Object.entries(ALONE)) {
    const { share, count } = covered({ ...NO_ERRORS, ...sizes }, rigs, name);
    report({
      name: `coverage of the stated 95 % intervals, ${name} alone`,
      value: Number((100 * share).toFixed(2)),
      unit: `% of ${count} readings of ${rigs} rigs`,
      limit: ">= 94",
      holds: share >= 0.94,
    });
  }
  const { share, count } = covered(ALL_ERRORS, rigs, "together");
  report({
    name: "coverage of the stated 95 % intervals, everything together",
    value: Number((100 * share).toFixed(2)),
    unit: `% of ${count} readings of ${rigs} rigs`,
    limit: "94 to 97",
    holds: share >= 0.94 && share <= 0.97,
  });
  const quantised = covered({ ...NO_ERRORS }, rigs, "width");
  say(`quantisation: true half-width ${quantised.trueHalf.toFixed(3)} of a stated U`);
  report({
    name: "coverage, stated U over the true 95 % half-width where quantisation rules",
    value: Number((1 / quantised.trueHalf).toFixed(3)),
    unit: `ratio, ${quantised.count} readings`,
    limit: "<= 1.25",
    holds: 1 / quantised.trueHalf <= 1.25,
  });
}

/** `trueHalf`: 95th of a hundred of the true errors, in units of the U stated with each. */
function covered(
  sizes: ErrorSizes,
  rigs: number,
  name: string,
): { readonly share: number; readonly count: number; readonly trueHalf: number } {
  const ratios: number[] = [];
  for (let seed = 1; seed <= rigs; seed += 1) {
    const rig = randomRig(sizes, quickChance(`${name} ${seed}`));
    const watch = watchOf(rig);
    for (let turn = 0; turn < READINGS_A_RIG; turn += 1) {
      const simulated = rig.read();
      const { volts, expandedV } = readWith(watch, simulated);
      if (volts === null) continue;
      // A U of nothing would hold nothing.
      ratios.push(Math.abs(volts - simulated.trueV) / (expandedV ?? 0));
    }
  }
  ratios.sort((one, other) => one - other);
  const inside = ratios.filter((ratio) => ratio <= 1).length;
  return {
    share: inside / ratios.length,
    count: ratios.length,
    trueHalf: ratios[Math.floor(0.95 * ratios.length)] ?? Number.NaN,
  };
}
