/** Shape of what a soak adds to a journal. */
import { z } from "zod";
import type { SoakOrder } from "../events/soak.ts";
import type { TaughtBefore } from "../events/unit-history.ts";
import { cause, count, judged, ms, reading, text, volts } from "./event-parts.schema.ts";
import { levelClass } from "./level.schema.ts";
import { heaterLow, patternStep } from "./plan.schema.ts";

const goOn = z.enum(["link lost", "host crash", "mains cut"]);

const linkUse = z.strictObject({
  bytes: count,
  movingBytes: count,
  movingMs: ms,
  movingRepeats: count,
});

export const soakOrder: z.ZodType<SoakOrder> = z.strictObject({
  cycle: z.array(patternStep),
  forMs: ms.nullable(),
  cycles: count.nullable(),
  errorsMax: count.nullable(),
  everyMs: ms,
  readEveryMs: ms,
  power: z.strictObject({ onMs: ms, offMs: ms }).nullable(),
  dwell: z.strictObject({ everyMs: ms, forMs: ms }).nullable(),
  heaterLow: heaterLow.optional(),
  goOn: z.array(goOn),
  attendance: z.enum(["attended", "unattended"]),
});

export const taughtBefore: z.ZodType<TaughtBefore> = z.strictObject({
  newest: text,
  history: z.strictObject({
    runs: count,
    levels: z.array(
      z.strictObject({
        net: text,
        class: z.enum(["low", "high"]),
        levelsV: z.array(volts),
        influences: z.array(text),
        coefficients: z.array(z.number()),
        covariance: z.array(z.number()),
      }),
    ),
  }),
});

const cycleVolts = z.strictObject({
  cycle: count,
  ms,
  volts: z.array(z.array(volts.nullable())),
});

const rigNow = { referenceV: volts.nullable(), celsius: z.number().nullable() };

export const soakEvents = [
  z.strictObject({
    kind: z.literal("leg-begun"),
    leg: count,
    why: z.enum(["first", "power cycle", "link lost", "host crash", "mains cut"]),
    wall: text,
    gapMs: ms.nullable(),
    tornBytes: count,
  }),
  z.strictObject({
    kind: z.literal("leg-ended"),
    leg: count,
    cause: z.union([cause, z.literal("power cycle")]),
    detail: text,
    provedOff: z.boolean(),
    brokeOffMoving: z.boolean().optional(),
  }),
  z.strictObject({
    kind: z.literal("window-moved"),
    rail: z.enum(["heater", "bias", "plate"]),
    share: z.number(),
    window: z.strictObject({ lowV: volts, highV: volts }),
  }),
  z.strictObject({
    kind: z.literal("soak-tally"),
    counts: z.strictObject({
      cycles: count,
      wrong: count,
      unjudged: count,
      notKept: count,
      powerCycles: count,
      boardMs: ms,
      heaterMs: ms,
      cyclingMs: ms,
      closings: z.record(text, count),
      repeats: count,
      link: linkUse.optional(),
    }),
    spans: z.array(
      z.strictObject({
        net: text,
        class: levelClass,
        lowV: volts,
        highV: volts,
        meanV: volts,
        count,
      }),
    ),
  }),
  z.strictObject({
    kind: z.literal("soak-readings"),
    set: count,
    cycle: count,
    moment: z.enum(["settled", "first on", "begin", "end", "heater low"]),
    onMs: ms,
    steps: z.array(z.strictObject({ step: count, readings: z.array(judged) })),
    rails: z.array(reading),
    ...rigNow,
  }),
  z.strictObject({
    kind: z.literal("cycle-error"),
    error: count,
    cycle: count,
    step: count,
    onMs: ms,
    wall: text,
    readings: z.array(judged),
    own: cycleVolts,
    before: z.array(cycleVolts),
    rails: z.array(reading),
    ...rigNow,
    repeats: count,
    moved: z.array(text),
  }),
  z.strictObject({
    kind: z.literal("cycle-error-after"),
    error: count,
    after: z.array(cycleVolts),
  }),
  z.strictObject({ kind: z.literal("clock-step"), wall: text, stepMs: z.number() }),
] as const;
