/** The nights of the figure: weather and supplies by chance of the seed, and one section that wears, or none. */
import { type Scenario, scenarioSchema } from "../../../src/formats/scenario.schema.ts";
import { quickChance } from "../uncertainty/quick-chance.ts";

export const HOURS = 12;
/** 2160 cycles a night. */
export const EVERY_MS = 20_000;
/** Tubes and parts of so many units, each by its own seed. */
export const UNITS = 25;

export const SECTIONS = ["V1a", "V1b"] as const;

export interface Loss {
  readonly section: (typeof SECTIONS)[number];
  /** Of full emission, over the night. */
  readonly percent: number;
}

/**
 * Rails swing with the day by up to 1 % and walk by 0.4 % (standard deviation) besides, each its own way, which
 * keeps them within 2 % but for rare moments; the room is between 15 and 30 degrees, resistors go with it; the
 * reference walks, drifts and goes with the room.
 */
export function scenarioOf(night: {
  readonly seed: number;
  /** Null for a healthy one. */
  readonly loss: Loss | null;
}): Scenario {
  const { seed, loss } = night;
  const chance = quickChance(`weak-tube ${seed}`);
  const supply = () => ({
    swingPercent: 0.3 + 0.4 * chance.unit(),
    swingHours: 24,
    walkPercent: 0.5,
  });
  return scenarioSchema.parse({
    format: "holdfast-scenario",
    version: 1,
    scenario: `night-${seed}`,
    seed,
    temperature: {
      meanC: 22.5 + chance.either(),
      dailySwingC: 2 + 3 * chance.unit(),
      warmestAtHours: 24 * chance.unit(),
      walkC: 0.8,
      resistorPpmPerK: 100 * chance.either(),
    },
    supplies: { heater: supply(), bias: supply(), plate: supply() },
    reference: {
      driftPercentPerHour: 0.01 * chance.either(),
      walkPercent: 0.05,
      ppmPerK: 50 * chance.either(),
    },
    sections:
      loss === null
        ? []
        : [{ section: loss.section, lossPercentPerHour: loss.percent / HOURS, fromHours: 0 }],
  });
}
